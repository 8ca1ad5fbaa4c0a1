"""Rates, bills and the books: what things cost from a date on, what was asked, and balanced entries never changed."""

from ledger.models.bills import (
    Bill,
    BillItem,
    BillPayment,
    BillPhoto,
    BookSettings,
    Entity,
    Payee,
    PunctureTo,
    SharedBy,
)
from ledger.models.budgets import BudgetLine, SeasonYield
from ledger.models.categories import CategoryMap, CategoryMapLine, FarmCategory
from ledger.models.entries import SOURCES, Entry, EntryBalance, Line, PostingWait, SourceKind, Zero
from ledger.models.periods import PeriodMark
from ledger.models.rates import MachineCostFacts, Rate, RateKind
from ledger.models.share_outs import LandlordTerm, MachineYear, ShareOut, ShareOutPart
from ledger.models.stock import FuelBy, OpeningStock, StockCost, YearChoice
from ledger.models.words import IN_THE_SHED, Account, Category

__all__ = [
    "IN_THE_SHED",
    "SOURCES",
    "Account",
    "Bill",
    "BillItem",
    "BillPayment",
    "BillPhoto",
    "BookSettings",
    "BudgetLine",
    "Category",
    "CategoryMap",
    "CategoryMapLine",
    "Entity",
    "Entry",
    "EntryBalance",
    "FarmCategory",
    "FuelBy",
    "LandlordTerm",
    "Line",
    "MachineCostFacts",
    "MachineYear",
    "OpeningStock",
    "Payee",
    "PeriodMark",
    "PostingWait",
    "PunctureTo",
    "Rate",
    "RateKind",
    "SeasonYield",
    "ShareOut",
    "ShareOutPart",
    "SharedBy",
    "SourceKind",
    "StockCost",
    "YearChoice",
    "Zero",
]
