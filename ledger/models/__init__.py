"""Rates, bills and the books: what things cost from a date on, what was asked, and balanced entries never changed."""

from ledger.models.bills import Bill, BillPayment, BookSettings, Payee, PunctureTo
from ledger.models.entries import Entry, EntryBalance, Line, PostingWait, SourceKind, Zero
from ledger.models.rates import MachineCostFacts, Rate, RateKind
from ledger.models.words import IN_THE_SHED, Account, Category

__all__ = [
    "IN_THE_SHED",
    "Account",
    "Bill",
    "BillPayment",
    "BookSettings",
    "Category",
    "Entry",
    "EntryBalance",
    "Line",
    "MachineCostFacts",
    "Payee",
    "PostingWait",
    "PunctureTo",
    "Rate",
    "RateKind",
    "SourceKind",
    "Zero",
]
