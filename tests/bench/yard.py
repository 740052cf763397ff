"""What every bench shares: the shortest of some runs, and one line of the common table.

Processor time counts, so that a busy machine spoils no ratio.
"""

import time


def best_ms(run, count):
    """Shortest of ``count`` runs, ms of processor time."""
    times = []
    for _ in range(count):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return 1000 * min(times)


def line(subject, work, ms, against, against_ms):
    """One line of the table: so much ``work`` took ``ms``, as a multiple of what it stands against."""
    return {
        "subject": subject,
        "work": work,
        "ms": ms,
        "against": against,
        "ratio": ms / against_ms,
    }
