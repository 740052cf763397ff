"""The account of one station: from the field at the roof to the spare dB at the tuner, line by line.

    spare dB = field at the roof
             + what the antenna makes of it
             - what walls, trees and the cable cost
             - the noise, and what the tuner needs above it

``link`` computes, for all stations at once, everything that neither the antenna nor its heading
changes; ``gain_toward_dbd`` is the rest. The survey adds the two; ``account`` shows them as rows.

=========  ====================================================================================
field      ``field_at``, ``Field``: what the path brings; ``layers`` compared, ``site_profiles``
link       ``link``, ``Link``; ``gain_toward_dbd``, ``polarization_loss_db``, ``antenna_taught``;
           ``spread_db``, ``prior``, ``place_index``: what is not known; ``needs_cn_db``
others     ``others``, ``Others``: the same channel, mixing products, overload
rows       ``account``: one station line by line; ``station_index``
=========  ====================================================================================
"""

from .field import SURE_TIME_PCT, Field, field_at, layers, site_profiles
from .link import (
    HEADINGS_DEG,
    Link,
    antenna_taught,
    gain_toward_dbd,
    link,
    needs_cn_db,
    place_index,
    polarization_loss_db,
    prior,
    spread_db,
)
from .others import Others, others
from .rows import account, station_index

__all__ = [
    "HEADINGS_DEG",
    "SURE_TIME_PCT",
    "Field",
    "Link",
    "Others",
    "account",
    "antenna_taught",
    "field_at",
    "gain_toward_dbd",
    "layers",
    "link",
    "needs_cn_db",
    "others",
    "place_index",
    "polarization_loss_db",
    "prior",
    "site_profiles",
    "spread_db",
    "station_index",
]
