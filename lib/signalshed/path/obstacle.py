"""Which point of a profile decides."""

from dataclasses import dataclass

import numpy as np

from ..units import LIGHT_M_MHZ, check, miles_from_km, plain
from .air import STANDARD_AIR
from .edges import edge_loss_db
from .profile import check_height


@dataclass(frozen=True, eq=False)
class Obstacle:
    """The point of a path that stands highest in the wave's way; floats or arrays over paths.

    ``from_transmitter_km`` and ``from_receiver_km`` where it is; ``height_m`` its top above sea
    level; ``above_line_m`` how far it stands above the line of sight, negative where it stays below;
    ``fresnel_radius_m`` of the first zone there; ``v`` and ``knife_edge_db`` as of a single sharp
    edge. All NaN where no map covers the path.
    """

    from_transmitter_km: float | np.ndarray
    from_receiver_km: float | np.ndarray
    height_m: float | np.ndarray
    above_line_m: float | np.ndarray
    fresnel_radius_m: float | np.ndarray
    v: float | np.ndarray
    knife_edge_db: float | np.ndarray

    @property
    def words(self):
        """Of one path, a sentence: where it is and what it does."""
        if not np.isfinite(self.height_m):
            return "No terrain map covers this path."
        away, loss = self.from_receiver_km, f"{self.knife_edge_db:.0f} dB"
        where = (
            f"{away:.1f} km ({miles_from_km(away):.1f} mi) from the receiving antenna, where the"
            f" ground with what stands on it reaches {self.height_m:.0f} m above sea level"
        )
        if self.knife_edge_db == 0:
            return f"The path is clear; it is closest to the ground {where}."
        if self.above_line_m > 0:
            return (
                f"The view is blocked {where}, {self.above_line_m:.0f} m above the line of sight: about"
                f" {loss} if it were the only obstacle."
            )
        return (
            f"The view is open but not free {where}, {-self.above_line_m:.0f} m below the line of sight;"
            f" the wave wants about {0.6 * self.fresnel_radius_m:.0f} m there: about {loss}."
        )


def obstacle(freq_mhz, profile, transmit_agl_m, receive_agl_m=9.1, *, air=STANDARD_AIR):
    """The point of a profile that stands highest in the wave's way: an Obstacle.

    Parameters: ``freq_mhz`` above 0, ``transmit_agl_m`` and ``receive_agl_m`` above ground, above 0,
    each a number or an array over the profile's leading axes; ``profile`` an ``earth.Profile``;
    ``air`` a ``path.Air``. The largest v of Rec. ITU-R P.526 eq. 26 decides, clutter included.

    >>> from signalshed import earth
    >>> hill = earth.Profile([0, 10, 20, 30, 40], [50, 60, 220, 70, 40])
    >>> obstacle(600, hill, 150, 10).from_transmitter_km
    20.0
    """
    freq = check("freq_mhz", freq_mhz, above=0)
    over, product = _over_the_line(profile, transmit_agl_m, receive_agl_m, air)
    at = (over / np.sqrt(product)).argmax(axis=-1)[..., None]
    over, product = _pick(over, at), _pick(product, at)
    near = _pick(profile.distance_km[..., 1:-1], at)
    length = profile.distance_km[..., -1]
    radius = np.sqrt(LIGHT_M_MHZ / freq * 1000 * product / length)
    v = np.sqrt(2) * over / radius
    height = _pick(profile.surface_m[..., 1:-1], at)
    parts = (near, length - near, height, over, radius, v, edge_loss_db(v))
    known = np.isfinite(over)
    return Obstacle(*(plain(np.where(known, part, np.nan)) for part in parts))


def _over_the_line(profile, transmit_agl_m, receive_agl_m, air):
    """Height of inner points above the line of sight, m, and the product of their distances, km^2."""
    start = profile.ground_m[..., 0] + check_height("transmit_agl_m", transmit_agl_m)
    end = profile.ground_m[..., -1] + check_height("receive_agl_m", receive_agl_m)
    share = profile.fraction[..., 1:-1]
    length = profile.distance_km[..., -1:]
    product = length**2 * share * (1 - share)
    line = start[..., None] * (1 - share) + end[..., None] * share
    return profile.surface_m[..., 1:-1] + 500 / air.effective_radius_km * product - line, product


def _pick(array, at):
    """The value at each path's own point."""
    shape = np.broadcast_shapes(array.shape[:-1], at.shape[:-1])
    array = np.broadcast_to(array, (*shape, array.shape[-1]))
    return np.take_along_axis(array, np.broadcast_to(at, (*shape, 1)), axis=-1)[..., 0]
