"""Work that goes on while the page answers: its progress, its end, why it came to nothing."""

from __future__ import annotations

import threading
import time
import traceback
from contextvars import copy_context

from scheduler.base.faults import DrylineError
from scheduler.solvers.cp_sat import Progress
from scheduler.words.fault_text import error_text


class Background(threading.Thread):
    """A thread that does `do`, in the language of the request that made it.

    Attributes
    ----------
    halt : set to end it soon; progress : the search's latest report; refused : why it came to
        nothing, empty if it did not.
    """

    def __init__(self, name: str) -> None:
        super().__init__(name=name, daemon=True)
        self.halt = threading.Event()
        self.began = time.monotonic()
        self.progress: Progress | None = None
        self.refused = ""
        self._speaking = copy_context()

    @property
    def seconds(self) -> float:
        return time.monotonic() - self.began

    def do(self) -> None:
        """The work.

        Raises
        ------
        DrylineError
            It comes to nothing, with the reason.
        """
        raise NotImplementedError

    def run(self) -> None:
        self._speaking.run(self._run)

    def _run(self) -> None:
        try:
            self.do()
        except DrylineError as error:
            self.refused = error_text(error)
        except Exception as error:  # a thread has nobody above it to tell
            traceback.print_exc()
            self.refused = f"{type(error).__name__}: {error}"

    def report(self, progress: Progress) -> None:
        self.progress = progress
