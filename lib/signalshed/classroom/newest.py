"""Only the newest: a job asked for many times in a row runs once, when the queue has been read."""

import asyncio
import time


class Newest:
    """Runs ``job()`` soon after it is asked for; whatever is asked meanwhile shares that run.

    In a kernel, messages of a slider wait in a queue while a picture is drawn. The first move of a
    calm slider is served in the next turn of the loop; a move that comes right after a run waits
    ``settle_s`` seconds, time to read the rest of the queue, so that stale positions are never drawn.
    Where no loop runs (plain Python, tests) the job runs at once.
    """

    def __init__(self, job, settle_s=0.004):
        self.job, self.settle_s = job, settle_s
        self._waiting, self._done_s = False, 0.0

    def ask(self):
        """Have the job run once more, with whatever is newest by then."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.job()
            return
        if not self._waiting:
            self._waiting = True
            hurried = time.monotonic() - self._done_s < 10 * self.settle_s
            loop.call_later(self.settle_s if hurried else 0, self._run)

    def _run(self):
        self._waiting = False
        self.job()
        self._done_s = time.monotonic()
