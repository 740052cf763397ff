"""What of one signal's power lands in another's channel: shared channels, sidebands, selectivity."""

import functools
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from .. import facts
from ..site import remembering
from .networks import signals_of

_LEAST_SHARE = 0.02
"""A smaller overlap of two channels is a rounding of their edges."""


@dataclass(frozen=True, eq=False)
class Leaks:
    """Shares of the power of each sender (columns) that act like noise to each station (rows), sparse.

    ``sent`` what is on the air in the station's channel: shared channels, and the sidebands of
    transmitters; ``let_in`` what a tuner's selectivity lets in from beside it, at its middle.
    """

    sent: csr_array
    let_in: csr_array

    @functools.cached_property
    def share(self):
        """Both together, at the middle of the tuner's selectivity."""
        return self.sent + self.let_in

    def over(self, rows, noise_mw):
        """The same for ``rows`` alone, over the noise of their channels (rows,), single precision.

        Parameters: ``rows`` (r,) numbers; ``noise_mw`` (r, 1).
        """
        return Leaks(_over(self.sent[rows], noise_mw), _over(self.let_in[rows], noise_mw))


def leaks(site, feed, line_gain_db):
    """The leaks at the end of a ``feed``: Leaks. A filter in it keeps a neighbour from the tuner.

    Signals of one transmitter or of one network do not disturb each other here.
    Parameters: ``site`` a Site; ``feed`` a chain.Feed; ``line_gain_db`` (n,) of it.

    >>> from signalshed import simulate
    >>> site = simulate.demo_site()
    >>> leaks(site, site.feed("mast line"), np.zeros(len(site.stations))).share.shape
    (18, 18)
    """
    on_air = _on_air(site)

    def make():
        gain = 10 ** (np.asarray(line_gain_db) / 10)
        return Leaks(on_air.sent, csr_array(on_air.let_in.multiply(gain / gain[:, None])))

    return site.remembered(("leaks behind", feed), make, ("stations",))


@remembering("stations")
def _on_air(site):
    """The leaks without any line."""
    s, found = site.stations, signals_of(site)
    freq, width = s["freq_mhz"].to_numpy(float), s["bandwidth_mhz"].to_numpy(float)
    apart = freq - freq[:, None]
    common = (width + width[:, None]) / 2 - np.abs(apart)
    sent = np.clip(np.minimum(common, np.minimum(width, width[:, None])), 0, None) / width
    sent[sent < _LEAST_SHARE] = 0.0
    able = _disturbs(s, found)
    row, column = np.nonzero(able & (sent > 0))
    shared = sent[row, column]
    beside = np.nonzero(able & (sent == 0) & (np.abs(apart) <= 16 * width[:, None]))
    offset = np.rint(apart[beside] / width[beside[0]])
    offset = np.where(offset == 0, np.sign(apart[beside]), offset)
    sidebands, let_in = _by_offset(offset)
    rows, columns = np.append(row, beside[0]), np.append(column, beside[1])
    whole = csr_array((np.append(shared, sidebands), (rows, columns)), able.shape)
    return Leaks(whole, csr_array((let_in, beside), able.shape))


def _disturbs(s, found):
    """Which sender (columns) can disturb which television row (rows): bools."""
    able = np.tile(found.is_sender, (len(s), 1))
    able &= found.sender[:, None] != found.sender
    able &= (found.network[:, None] != found.network) | (found.network < 0)
    return able & (s["service"] == "tv").to_numpy()[:, None]


def _by_offset(offset):
    """Shares of the power that sidebands and the tuner put so many channels beside: two arrays."""
    table = facts.table("channel_leakage").set_index("offset")
    reached = table.reindex(offset.astype(int))[["transmitter_db", "receiver_db"]].to_numpy()
    return np.nan_to_num(10 ** (reached / 10)).T


def _over(share, quiet_mw):
    """Rows of a sparse ``share`` over the noise of their channel, single precision."""
    data = share.data / np.repeat(np.ravel(quiet_mw), np.diff(share.indptr))
    return csr_array((data.astype(np.float32), share.indices, share.indptr), shape=share.shape)
