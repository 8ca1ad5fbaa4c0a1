"""Count wrong tries by whoever makes them, in this process: no table grows by them and no other server has to be up.

Where several processes answer, each lets through its share, so that all of them together let through no more.
"""

import datetime as dt
import threading
from collections import OrderedDict

from django.conf import settings


class Throttle:
    """At most `most` wrong tries of one maker in a stretch of time; right ones are not counted.

    Each process counts for itself, up to its share. At most `makers` are remembered, those of the newest tries: what this
    takes of memory does not grow, whoever knocks.
    """

    def __init__(self, *, most: int, within: dt.timedelta, makers: int = 10_000) -> None:
        self.most, self.within, self.makers = most, within, makers
        self._tries: OrderedDict[str, tuple[dt.datetime, int]] = OrderedDict()
        self._lock = threading.Lock()

    def wait_s(self, maker: str, *, now: dt.datetime) -> int:
        """Return how many seconds a maker of wrong tries must wait; 0 for one who may try."""
        with self._lock:
            most = max(1, self.most // settings.WEB_PROCESSES)
            began, count = self._tries.get(maker, (now, 0))
            left = began + self.within - now
            return max(1, round(left.total_seconds())) if count >= most and left > dt.timedelta() else 0

    def missed(self, maker: str, *, now: dt.datetime) -> None:
        """Count one wrong try."""
        with self._lock:
            began, count = self._tries.pop(maker, (now, 0))
            is_over = now - began >= self.within
            self._tries[maker] = (now, 1) if is_over else (began, count + 1)
            while len(self._tries) > self.makers:
                self._tries.popitem(last=False)

    def forget(self) -> None:
        """Forget every try."""
        with self._lock:
            self._tries.clear()
