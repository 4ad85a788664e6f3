"""`python -m tests.production.ringing FIRST LAST PAUSE`: a process that asks for jobs, as the
pages do. Prints the longest time in seconds that one of them took to ask."""

from __future__ import annotations

import sys
import time

import django

django.setup()

from django.utils import timezone  # noqa: E402 - after the settings stand

from portal.jobs.queueing import enqueue  # noqa: E402


def main(first: int, last: int, pause: float) -> float:
    longest = 0.0
    for number in range(first, last):
        began = time.monotonic()
        enqueue("tests.once", key=str(number), payload={}, at=timezone.now())
        longest = max(longest, time.monotonic() - began)
        time.sleep(pause)
    return longest


if __name__ == "__main__":
    sys.stdout.write(f"longest {main(int(sys.argv[1]), int(sys.argv[2]), float(sys.argv[3]))}\n")
