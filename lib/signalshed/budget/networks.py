"""Single-frequency networks: what of several transmitters helps, and what is left to disturb.

Within the guard interval echoes help in full. Beyond it their useful share falls as the square of what
is left of the symbol, and the rest is noise; beyond its end all is noise. The same law holds for what
comes before the tuner's window. The tuner begins its window with the arrival that serves it best.
"""

from dataclasses import dataclass

import numpy as np

from .. import units
from ..site import arrival_us, read_only, remembering, signals


@dataclass(frozen=True, eq=False)
class Network:
    """One network: ``members`` rows of its transmitters (m,), ``rows`` all rows that show its answer,
    ``useful`` (windows, m) the share of each member's power that helps if the window begins with
    another's arrival.
    """

    members: np.ndarray
    rows: np.ndarray
    useful: np.ndarray

    def __post_init__(self):
        read_only(self)

    def ratio(self, power_mw, noise_mw):
        """The best C/(N+I) of all windows (...,), from ``power_mw`` (..., m) and ``noise_mw`` (...,)."""
        helps = power_mw @ self.useful.T
        hurts = np.maximum(power_mw.sum(axis=-1, keepdims=True) - helps, 0.0)
        return (helps / (np.asarray(noise_mw)[..., None] + hurts)).max(axis=-1)


def useful_share(delay_us, guard_us, useful_us):
    """Share of an echo's power that helps, 0 to 1; the rest disturbs like noise.

    Parameters broadcast: ``delay_us`` after the window's beginning, negative before it; ``guard_us``
    and ``useful_us``, the times of guard interval and symbol. Source: 1 within the guard interval, then
    ((Tu + Tg - t) / Tu)^2, as EBU planning texts have it; a test holds it against simulated symbols.

    >>> useful_share([0, 224, 448, 1120], 224, 896).tolist()
    [1.0, 1.0, 0.5625, 0.0]
    """
    delay = np.asarray(units.check("delay_us", delay_us))
    guard = units.check("guard_us", guard_us, low=0)
    useful = units.check("useful_us", useful_us, above=0)
    outside = np.maximum(delay - guard, 0.0) + np.maximum(-delay, 0.0)
    return units.plain(np.clip(1 - outside / useful, 0.0, 1.0) ** 2)


@remembering("stations")
def signals_of(site):
    """The transmissions and networks of a ``site``: site.Signals, made once.

    >>> from signalshed import simulate
    >>> int(signals_of(simulate.demo_site()).is_sender.sum())
    17
    """
    return signals(site.stations)


@remembering("stations")
def networks(site):
    """The networks of a ``site``: a tuple of Network.

    >>> from signalshed import simulate
    >>> networks(simulate.demo_site())
    ()
    """
    return tuple(_networks(site.stations, signals_of(site)))


def _networks(stations, found):
    when = arrival_us(stations, found.delay_us)
    for number in range(found.network.max(initial=-1) + 1):
        rows = np.flatnonzero(found.network == number)
        members = np.unique(found.sender[rows])
        late = when[members] - np.unique(when[members])[:, None]
        times = found.guard_us[rows[0]], found.useful_us[rows[0]]
        yield Network(members, rows, np.atleast_2d(useful_share(late, *times)))
