"""Sets of weather members, one bit each: which members a limit holds in, row by row.

Fields by the hundred share a few rows of weather, so a limit is compared once and its answer kept small: a row of 200
members is four words, and "holds in every zone and for every limit" is a few ands of them.
"""

import numpy as np
import numpy.typing as npt

Words = npt.NDArray[np.uint64]
WORD_BITS = 64


def pack(flags: npt.NDArray[np.bool_]) -> Words:
    """Return the sets of members whose flag is set; `flags` has shape (rows, members)."""
    rows, members = flags.shape
    packed = np.zeros((rows, -(-members // WORD_BITS) * (WORD_BITS // 8)), dtype=np.uint8)
    bits = np.packbits(flags, axis=1)
    packed[:, : bits.shape[1]] = bits
    words: Words = packed.view(np.uint64)
    return words


def everybody(members: int) -> Words:
    """Return the set of all members, of shape (1, words)."""
    return pack(np.ones((1, members), dtype=bool))


def shares(words: Words, members: int) -> npt.NDArray[np.float64]:
    """Return how many of the members are in each row's set, 0 to 1."""
    result: npt.NDArray[np.float64] = np.bitwise_count(words).sum(axis=1, dtype=np.int64) / members
    return result
