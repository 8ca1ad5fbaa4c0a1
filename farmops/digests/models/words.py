"""The words that the tables of the mail hold."""

from django.db import models


class SheetKind(models.TextChoices):
    """What is mailed. `hand` and `change` go to hands, the others to users of the service."""

    HAND = "hand", "morning sheet"
    CHANGE = "change", "change for tomorrow"
    DIGEST = "digest", "the farm today"
    COSTS = "costs", "costs of the week"
    TROUBLE = "trouble", "trouble with the mail"


KINDS_OF_HANDS = (SheetKind.HAND, SheetKind.CHANGE)
AS_IT_HAPPENS = (SheetKind.CHANGE, SheetKind.TROUBLE)
"""Kinds without an hour: a day may have several, each told once and so many at most."""


class RowState(models.TextChoices):
    """due -> claimed -> sending -> sent; retry and unknown come back after a wait; the rest are ends.

    `unknown`: the connection broke after the message was handed over and before the server answered.
    `dead`: refused for good or tried too often. `skipped`: the hour to give up passed. `empty`: nothing to do that day.
    `suppressed`: the address bounced, the person wants none or is gone; nothing is sent, and `reason` says which.
    """

    DUE = "due", "due"
    CLAIMED = "claimed", "claimed"
    SENDING = "sending", "sending"
    SENT = "sent", "sent"
    RETRY = "retry", "retry"
    UNKNOWN = "unknown", "unknown"
    DEAD = "dead", "dead"
    SKIPPED = "skipped", "skipped"
    EMPTY = "empty", "empty"
    SUPPRESSED = "suppressed", "suppressed"


class Reason(models.TextChoices):
    """Why nothing goes out for a row."""

    NOTHING_TO_DO = "nothing_to_do", "nothing to do that day"
    TOO_LATE = "too_late", "the hour to give up passed"
    REFUSED = "refused", "refused for good"
    TRIES = "tries", "tried too often"
    UNUSABLE = "unusable", "the address cannot be used"
    BOUNCED = "bounced", "mail to the address came back"
    NOT_WANTED = "not_wanted", "the person wants none"
    NOT_HERE = "not_here", "the person is not on this farm any more"


class OnEmptyDay(models.TextChoices):
    """What a person gets on a day with nothing to do."""

    NONE = "none", "no mail"
    SHORT = "short", "a short one"


class Units(models.TextChoices):
    """The units that a person reads temperatures and rain in; acres, widths and speeds stay as the farm has them."""

    CUSTOMARY = "customary", "°F, inches"
    METRIC = "metric", "°C, millimeters"


class Purpose(models.TextChoices):
    """What a person's link is good for."""

    CALENDAR = "calendar", "reads the calendar"
    STOP = "stop", "stops a kind of mail"


class TroubleKind(models.TextChoices):
    """What went wrong with the mail, so that somebody has to know."""

    SKIPPED = "skipped", "sheets that came too late"
    BOUNCED = "bounced", "an address whose mail comes back"
    DEAD = "dead", "a sheet that cannot be handed over"
    HALTED = "halted", "the mail server refuses this service"
    CLOCK = "clock", "the clock cannot be trusted"
