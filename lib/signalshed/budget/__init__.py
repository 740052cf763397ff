"""The account of one station: from the field at the roof to the spare dB at the tuner, line by line.

    spare dB = field at the roof
             + what the antenna makes of it
             - what walls, trees and the cable cost
             - the noise, and what the tuner needs above it
             - the fade of the worst tenth of the time

``link`` computes, for all stations at once, everything that neither the antenna nor its heading
changes; ``gain_toward_dbd`` is the rest. ``reception`` joins the two for a setup as it is really used.

=========  ====================================================================================
stations   ``place_index``: who shares a transmitter place
field      ``field_at``, ``Field``: what the path brings; ``site_profiles``
mounts     ``vegetation_loss_db``, ``scattered_share``: what a place takes away
gain       ``gain_toward_dbd``, ``polarization_loss_db``: an antenna as it hangs; ``antenna_taught``
link       ``link``, ``Link``: all the rest; ``spread_db``, ``prior``: what is not known
needs      ``needs_cn_db``, ``needs_sd_db``: C/N and its doubt; ``may_refuse``
networks   ``networks``, ``Network``: what helps and what disturbs; ``useful_share`` of an echo;
           ``signals_of`` a site: rows as transmissions
leaks      ``leaks``, ``Leaks``: what of one signal lands in another's channel
others     ``others``, ``Others``: the same channel, mixing products, overload; ``loudest_interferer``
worlds     ``worlds``, ``Worlds``: roofs like this one, the same for every setup
judged     ``judged``, ``Judged``: stations that others disturb, on all these roofs
together   ``Joint``: a network on all these roofs
search     ``searched``: chances at many headings, on few roofs
setups     ``Setup``: what is put up where; ``aimed_at``, ``parts_of``
reception  ``reception``, ``Reception``: all there is to say of one setup; its table, ``outlook``;
           ``reception_at`` any headings
chances    ``chance_of``, ``chances``: in closed form
limits     ``Limit``, ``limits_of``, ``KINDS``: what is in the way, and what would help
remedies   ``against``, ``filtered``, ``parted``: what helps against other signals
rows       ``account``: one station line by line; ``station_index``
=========  ====================================================================================
"""

from .. import handed_on as _handed_on
from .chances import chance_of, chances
from .field import SURE_TIME_PCT, Field, field_at, site_profiles
from .gain import HEADINGS_DEG, antenna_taught, gain_toward_dbd, polarization_loss_db
from .judged import Judged, judged, reached
from .leaks import Leaks, leaks
from .limits import KINDS, Limit, limits_of
from .link import Link, link, prior, spread_db
from .mounts import scattered_share, vegetation_loss_db
from .needs import may_refuse, needs_cn_db, needs_sd_db
from .networks import Network, networks, signals_of, useful_share
from .others import Others, loudest_interferer, others
from .reception import Reception, outlook, reception, reception_at
from .rows import account, station_index
from .search import searched
from .setups import Setup, aimed_at, parts_of
from .stations import place_index
from .together import Joint
from .worlds import Worlds, worlds

__all__ = _handed_on(globals())


def __dir__():
    return __all__
