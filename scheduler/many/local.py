"""Many gardens on this machine: several processes, each replaced if it is lost."""

from __future__ import annotations

import queue
import threading
from collections.abc import Sequence
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace

from scheduler.base.processes import StopFile, process_pool, stop_file
from scheduler.many.gardens import ATTEMPTS, Done, Job, Result, Stop, lost, plan_garden, stopped


def run_local(jobs: Sequence[Job], count: int, done: Done, stop: Stop) -> None:
    """Plan ``jobs`` in ``count`` processes.

    Each process plans one garden at a time and stands alone: one that dies takes only its own
    garden with it, which is begun again in a new one, `ATTEMPTS` times in all. ``done`` is called
    with each result, in the order in which they are ready, from the calling thread. Once ``stop``
    is set the gardens in hand end with the best plan so far, and no other is begun.
    """
    waiting: queue.SimpleQueue[Job] = queue.SimpleQueue()
    for job in jobs:
        waiting.put(job)
    ready: queue.SimpleQueue[Result] = queue.SimpleQueue()
    with stop_file() as halt:
        threads = [
            threading.Thread(target=_lane, args=(waiting, ready, halt), daemon=True)
            for _ in range(min(count, len(jobs)))
        ]
        for thread in threads:
            thread.start()
        try:
            left = len(jobs)
            while left:
                if stop.is_set() and not halt.is_set():
                    halt.set()
                try:
                    result = ready.get(timeout=0.2)
                except queue.Empty:
                    continue
                left -= 1
                done(result)
        finally:  # given up, or done: no process may search on
            halt.set()
            for thread in threads:
                thread.join()


def _lane(
    waiting: queue.SimpleQueue[Job], ready: queue.SimpleQueue[Result], halt: StopFile
) -> None:
    """Plan what is waiting, one garden at a time, in a process of its own."""
    pool = process_pool(1)
    try:
        while True:
            try:
                job = waiting.get_nowait()
            except queue.Empty:
                return
            result = None
            for attempt in range(1, ATTEMPTS + 1):
                if halt.is_set():
                    result = stopped(job)
                    break
                try:
                    got = pool.submit(plan_garden, job, halt).result()
                    result = replace(got, attempts=attempt)
                    break
                except BrokenProcessPool:
                    pool.shutdown(wait=False)
                    pool = process_pool(1)
            if result is None:
                result = lost(
                    job,
                    ATTEMPTS,
                    f"the process planning it died {ATTEMPTS} times, perhaps for want of memory",
                )
            ready.put(result)
    finally:
        pool.shutdown()
