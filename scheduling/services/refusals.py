"""Why a record of work is refused."""

from farmops.core.keeping import ClientIdReused as ClientIdReused
from farmops.core.problems import DomainError, Kind


class NotThisFarm(DomainError):
    """A row of another farm was named."""

    code = "not_this_farm"
    kind = Kind.MISSING


class Over24Hours(DomainError):
    """A day has 24 hours."""

    code = "over_24_hours"


class BadRecord(DomainError):
    """A record says something that cannot be."""

    code = "bad_record"


class AcresOver(DomainError):
    """More acres are reported than the ground has."""

    code = "acres_over"


class SupersededAlready(DomainError):
    """A record is corrected by one other record; correct that one."""

    code = "superseded_already"
    kind = Kind.CONFLICT


class MeterRunsBackwards(DomainError):
    """An hour meter never shows less than before."""

    code = "meter_runs_backwards"


class MeterRunsTooFast(DomainError):
    """An hour meter cannot gain more hours than have gone by."""

    code = "meter_runs_too_fast"


class PassIsFinished(DomainError):
    """A finished pass cannot be called off."""

    code = "pass_is_finished"
    kind = Kind.CONFLICT


class PassIsNotCalledOff(DomainError):
    """Only a pass that was called off can be taken up again."""

    code = "pass_is_not_called_off"
    kind = Kind.CONFLICT


class PassCalledOff(DomainError):
    """A report is about a pass that was called off."""

    code = "pass_called_off"
    kind = Kind.CONFLICT


class NotYourPass(DomainError):
    """The sent plan gives the pass to somebody else."""

    code = "not_your_pass"
    kind = Kind.CONFLICT


class ReportTooOld(DomainError):
    """A report is about a day long ago."""

    code = "report_too_old"


class ClockOff(DomainError):
    """When a report was written cannot be worked out from its sender's clock."""

    code = "clock_off"


class HoursOverlap(DomainError):
    """A hand's hours lie over hours that he or she reported before."""

    code = "hours_overlap"
    kind = Kind.CONFLICT


class HoursAhead(DomainError):
    """Hours are reported that have not been worked yet."""

    code = "hours_ahead"


class ParkedSettled(DomainError):
    """A report that waited was taken over or set aside before."""

    code = "parked_settled"
    kind = Kind.CONFLICT
