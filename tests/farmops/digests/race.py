"""Many workers at once in one process, on the database of the settings: `python -m tests.farmops.digests.race HANDS WORKERS`.

Prints what each worker says it sent, and the states of the rows, as JSON.
"""

import collections
import datetime as dt
import json
import sys
import threading

import django


def main(hands: int, workers: int) -> None:
    django.setup()
    from django.core.management import call_command  # noqa: PLC0415  (nothing of Django may load before setup)
    from django.db import connection  # noqa: PLC0415

    from farmops.digests.models import OutboxRow  # noqa: PLC0415
    from farmops.digests.services import outbox  # noqa: PLC0415
    from farmops.digests.services.outbox import make_due, send_due  # noqa: PLC0415
    from tests.farmops.digests.planned import MONDAY, at, farm_with_hands  # noqa: PLC0415

    outbox.CLAIM_AT_ONCE = 4  # of many hands; here nobody is to take all
    call_command("migrate", verbosity=0)
    farm_with_hands(*(f"hand-{number}" for number in range(hands)))
    now = at(MONDAY, 5, 5)
    together = threading.Barrier(workers)
    sent: list[int] = []

    def work() -> None:
        together.wait()
        for minute in range(2):
            instant = now + dt.timedelta(minutes=minute)
            make_due(now=instant)
            sent.append(send_due(now=instant).sent)
        connection.close()

    threads = [threading.Thread(target=work) for _worker in range(workers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    states = collections.Counter(OutboxRow.objects.values_list("state", flat=True))
    json.dump({"sent": sent, "states": states}, sys.stdout)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
