"""The plain words of the books: where a cost ends, and what kind of cost it is."""

from django.db import models


class Account(models.TextChoices):
    """Where a line stands. Costs end on a season, a machine's pool, a stock or the farm; the rest is who is owed."""

    SEASON = "season", "cost of a season"
    MACHINE_POOL = "machine_pool", "pool of a machine or implement"
    IRRIGATION = "irrigation", "pool of a pump"
    FUEL_STOCK = "fuel_stock", "fuel in the tank"
    INPUT_STOCK = "input_stock", "inputs in the shed"
    OVERHEAD = "overhead", "the farm as a whole"
    WAGES_OWED = "wages_owed", "wages owed to hands"
    PAYROLL_OWED = "payroll_owed", "payroll taxes and insurance owed"
    OWNER_TIME = "owner_time", "the owner's own hours, unpaid"
    BILLS_OWED = "bills_owed", "bills owed"
    BANK = "bank", "paid from the bank"
    LANDLORDS_OWE = "landlords_owe", "landlords' share of costs"
    OWNERSHIP = "ownership", "owning machines, for management"
    OPENING = "opening", "what was there at the start"


class Category(models.TextChoices):
    """What kind of cost a line is, in the trade's words."""

    LABOR = "labor", "labor"
    OVERTIME = "overtime", "overtime extra"
    PAYROLL_BURDEN = "payroll_burden", "payroll taxes and insurance"
    LOST_TIME = "lost_time", "time lost by incidents"
    OWNER_TIME = "owner_time", "owner's time, unpaid"
    MACHINE = "machine", "machine"
    IMPLEMENT = "implement", "implement"
    FUEL = "fuel", "fuel"
    LUBRICANTS = "lubricants", "oil and grease"
    REPAIRS = "repairs", "repairs"
    TIRES = "tires", "tires"
    INPUTS = "inputs", "inputs"
    SEED = "seed", "seed"
    TECHNOLOGY_FEE = "technology_fee", "technology fee"
    FERTILIZER = "fertilizer", "fertilizer and lime"
    CHEMICALS = "chemicals", "chemicals"
    CUSTOM_WORK = "custom_work", "custom work"
    GINNING_DRYING = "ginning_drying", "ginning and drying"
    SCOUTING = "scouting", "scouting"
    INSURANCE = "insurance", "insurance premium"
    LAND_RENT = "land_rent", "land rent"
    IRRIGATION_POWER = "irrigation_power", "irrigation power"
    INTEREST = "interest", "interest"
    OWNERSHIP = "ownership", "owning machines, for management"
    OTHER = "other", "other"


IN_THE_SHED = (
    Category.INPUTS,
    Category.SEED,
    Category.FERTILIZER,
    Category.CHEMICALS,
)
"""Categories of things that are bought into stock and leave it when a work record says so."""
