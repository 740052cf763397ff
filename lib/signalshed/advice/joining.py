"""Two antennas of a kind on one line, as a combiner joins them."""

from dataclasses import replace

import numpy as np

from .. import facts
from ..antenna import Antenna
from ..units import turn_deg

_AZIMUTHS_DEG = np.arange(-180.0, 180.0, 2.0)


def joined_antenna(antenna: Antenna, turned_deg: float) -> Antenna:
    """An antenna and one like it, turned clockwise of it, through a combiner.

    A combiner gives half of what either hears to the other side: of a station that only one of them
    hears 3 dB are lost. Of one that both hear the powers add on average; where exactly they help or
    cancel hangs on centimetres, so the gain is doubted by 3 dB more.

    Parameters
    ----------
    antenna
    turned_deg
        Of the second from the first.

    Returns
    -------
    Antenna

    Examples
    --------
    >>> from signalshed.antenna import plain_dipole
    >>> both = joined_antenna(plain_dipole(), 90.0)
    >>> round(float(plain_dipole().gain_dbd(600.0)) - float(both.gain_dbd(600.0)), 1)
    3.4
    """
    freq = antenna.freq_mhz
    one, other = (
        10 ** (antenna.gain_dbd(freq[:, None], turn_deg(off, _AZIMUTHS_DEG)) / 10)
        for off in (0.0, turned_deg)
    )
    loss_db = 10 * np.log10(2) + facts.value("judgement", "combiner_loss_db")
    return replace(
        antenna,
        name=f"two of {antenna.name}",
        azimuth_deg=_AZIMUTHS_DEG,
        gain_dbd_table=10 * np.log10(one + other) - loss_db,
        spread_db=float(np.hypot(antenna.spread_db, 3.0)),
    )
