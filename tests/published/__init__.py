"""Printed values against the code that computes them.

A case is a row of `fixtures/published/*.csv`: the function by its dotted name, the key of its source in
`farmops.science.bibliography`, the place in the source, the arguments as JSON, the printed result, how many decimals
are printed, and how the value was obtained:

- READ: seen in a copy of the publication;
- READ-2: a value of the publication as another project's files quote it;
- MEM: from memory;
- DER: worked here from the published formula, which guards against change and proves nothing.

The tolerance is half of the last printed digit. A row that needs another one states it and says why.
"""
