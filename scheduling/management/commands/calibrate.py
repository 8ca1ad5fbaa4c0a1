"""Fit soil zones' wet and dry limits to what growers said of their ground."""

import getpass
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from farmops.core import clock
from farmops.core.models import User
from farmops.core.problems import DomainError
from farmops.farms.models import Farm, Field
from farmops.farms.selectors import farm_by_code
from scheduling.services.calibration import ZoneCalibration, apply_calibration, calibrate
from scheduling.windows import LimitsError
from scheduling.windows.calibration import LEAST_REMARKS, Fitted

COLUMNS = ("field", "zone", "limit", "before", "agrees", "after", "agrees", "remarks", "")


class Command(BaseCommand):
    help = (
        "Fit each zone's wet and dry limit to the remarks on it (too wet, too dry, fits), each beside the model's topsoil "
        "at that instant, and print both limits with how many remarks they agree with, before and after. Nothing is "
        "written without --apply. Exit codes: 0 told, 1 refused."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--farm", required=True, help="the farm's code")
        parser.add_argument("--field", metavar="CODE", help="one field only; all with remarks")
        parser.add_argument("--apply", action="store_true", help="give the zones their new limits")
        parser.add_argument(
            "--by",
            metavar="USER",
            help="who answers for it, a user's name; else the account that runs the command",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        now = clock.now()
        try:
            farm = farm_by_code(options["farm"])
            found = calibrate(
                farm=farm, field=_field(farm, options["field"]), as_of=clock.local_date(now, farm.zone)
            )
            self._print(found)
            if not options["apply"]:
                self.stdout.write("Nothing was changed; --apply gives the zones these limits.")
                return
            user = _user(options["by"])
            changes = apply_calibration(
                farm=farm,
                calibrations=found,
                set_by=user,
                set_by_name=options["by"] or getpass.getuser(),
                now=now,
            )
        except DomainError as error:
            raise CommandError(error.says) from error
        except LimitsError as error:
            raise CommandError(str(error)) from error
        zones = "1 zone has" if len(changes) == 1 else f"{len(changes)} zones have"
        self.stdout.write(f"{zones} new limits.")

    def _print(self, found: list[ZoneCalibration]) -> None:
        rows = [COLUMNS]
        for one in found:
            for name, fitted in (("wet", one.fit.wet), ("dry", one.fit.dry)):
                rows.append(
                    (one.zone.field.code, one.zone.name, name, *_numbers(fitted), _remark(one, fitted))
                )
        widths = [max(len(row[place]) for row in rows) for place in range(len(COLUMNS))]
        for row in rows:
            cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
            self.stdout.write("  ".join(cells).rstrip())


def _numbers(fitted: Fitted) -> tuple[str, str, str, str, str]:
    return (
        f"{fitted.before_m3_m3:.3f}",
        str(fitted.agrees_before),
        f"{fitted.after_m3_m3:.3f}",
        str(fitted.agrees_after),
        str(fitted.remarks),
    )


def _remark(one: ZoneCalibration, fitted: Fitted) -> str:
    said = []
    if fitted.remarks < LEAST_REMARKS:
        said.append(f"fewer than {LEAST_REMARKS} remarks: stays")
    elif not fitted.is_moved:
        said.append("stays")
    if one.unplaced:
        said.append(f"{one.unplaced} on the whole field do not say which zone")
    return "; ".join(said)


def _field(farm: Farm, code: str | None) -> Field | None:
    if code is None:
        return None
    field = Field.objects.filter(farm=farm, code=code).first()
    if field is None:
        known = ", ".join(Field.objects.filter(farm=farm).values_list("code", flat=True)) or "none yet"
        raise CommandError(f"{farm.name} has no field {code!r}. Known fields: {known}.")
    return field


def _user(name: str | None) -> User | None:
    if name is None:
        return None
    user = User.objects.filter(username=name).first()
    if user is None:
        raise CommandError(f"--by is {name!r}; nobody of that name signs in here.")
    return user
