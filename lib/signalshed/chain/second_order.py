"""Second-order products: sums and differences of any two signals, and twice one, far from both."""

import numpy as np
from scipy.sparse import csr_array

from .. import facts


class Mixing:
    """Where sums and differences of many signals fall: ``freq_mhz`` and ``bandwidth_mhz`` (n,).

    Of two signals the product of their powers lies at the sum and at the difference of their
    frequencies, as wide as both together; of one, half its square at twice its frequency. ``wanted``
    (n,) bools: the channels that are looked at. Narrow signals are taken to the nearest half megahertz,
    so that a list with all of FM stays small.

    >>> mixing = Mixing([95.5, 99.5, 195.0], [0.2, 0.2, 6.0], [False, False, True])
    >>> mixing.mw([2.0, 3.0, 0.0]).round(2).tolist()
    [0.0, 0.0, 6.0]
    """

    def __init__(self, freq_mhz, bandwidth_mhz, wanted):
        freq, width = np.asarray(freq_mhz, float), np.asarray(bandwidth_mhz, float)
        both = np.stack([np.where(width < 1, np.rint(2 * freq) / 2, freq), width], axis=1)
        signals, which = np.unique(both, axis=0, return_inverse=True)
        channels, self._shown = np.unique(both[wanted], axis=0, return_inverse=True)
        self._wanted = np.flatnonzero(wanted)
        self._each = np.eye(len(signals))[which.ravel()]
        (freq, width), (at, wide) = signals.T, channels.T
        one, other = np.triu_indices(freq.size)
        ways = [(freq[one] + freq[other], one, other, np.where(one == other, 0.5, 1.0))]
        more, less = np.tril_indices(freq.size, -1)
        ways.append((freq[more] - freq[less], more, less, np.ones(more.size)))
        lands, one, other, weight = (np.concatenate(column) for column in zip(*ways, strict=True))
        inside = _inside(lands[:, None], width[one, None], width[other, None], at, wide)
        way, channel = np.nonzero(inside > 0)
        self._one, self._other, channels = one[way], other[way], channel
        share = inside[way, channel] * weight[way]
        stop = _let_in(freq)
        tuned = share * stop[self._one] * stop[self._other]
        shape, place = (at.size, way.size), (channel, np.arange(way.size))
        self._land = {
            False: csr_array((share, place), shape),
            True: csr_array((tuned, place), shape),
        }

    def mw(self, power_mw, tuned=False):
        """Products inside each wanted channel (..., n), mW, at an intercept point of 1 mW, else 0.

        Parameters: ``power_mw`` (..., n); ``tuned`` whether the part is a tuner. Whatever falls into its
        channel comes from 50 MHz and more away, which its input keeps out as well as FM; FM itself is
        stopped among the gains before it.
        """
        power = np.asarray(power_mw, float) @ self._each
        made = power[..., self._one] * power[..., self._other]
        landed = (self._land[tuned] @ np.atleast_2d(made).T).T
        found = np.zeros(np.shape(power_mw))
        found[..., self._wanted] = landed.reshape(*made.shape[:-1], -1)[..., self._shown.ravel()]
        return found

    def loudest(self, power_mw, row, tuned=False):
        """Power of the strongest product in the channel of a wanted ``row``, and the two that make it.

        Parameters: ``power_mw`` (n,); ``tuned`` as in ``mw``. Without any 0.0 and the row itself.
        """
        power = np.asarray(power_mw, float)
        sums = power @ self._each
        channel = self._shown.ravel()[np.searchsorted(self._wanted, row)]
        land = self._land[tuned][[channel]].toarray().ravel()
        made = land * sums[self._one] * sums[self._other]
        if not made.any():
            return 0.0, (row, row)
        way = int(made.argmax())
        pair = (self._one[way], self._other[way])
        return float(made[way]), tuple(int((power * self._each[:, k]).argmax()) for k in pair)


def is_fm(freq_mhz):
    """Whether ``freq_mhz``, an array, is of the FM band."""
    return (freq_mhz >= 87.5) & (freq_mhz <= 108)


def _let_in(freq_mhz):
    """What a tuner's input, tuned far away, lets in of each signal's power; 1 for FM."""
    return np.where(
        is_fm(freq_mhz), 1.0, 10 ** (-facts.value("receiver", "tuner_stops_fm_db") / 10)
    )


def _inside(lands_mhz, width_mhz, other_mhz, channel_mhz, wide_mhz):
    """Which share of a product of two flat signals lies inside a channel: a trapezoid's, 0 to 1."""
    far, near = (width_mhz + other_mhz) / 2, abs(width_mhz - other_mhz) / 2

    def below(mhz):
        x = mhz - lands_mhz
        parts = (np.maximum(x + d, 0) ** 2 for d in (far, near, -near, -far))
        return np.tensordot((1, -1, -1, 1), np.stack([*parts]), 1) / (2 * width_mhz * other_mhz)

    return np.clip(below(channel_mhz + wide_mhz / 2) - below(channel_mhz - wide_mhz / 2), 0.0, 1.0)
