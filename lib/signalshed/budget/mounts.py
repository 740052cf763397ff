"""What a place for an antenna takes away: walls, trees, and where in the room it happens to stand."""

import functools

import numpy as np

from .. import facts, path


@functools.cache
def _by_kind(table, column):
    """One column of a facts table by kind of mount; kinds it does not name have 0."""
    return facts.table(table).set_index("kind")[column].astype(float).to_dict()


def has_walls(mount):
    """Whether walls or a roof stand before a ``mount``.

    >>> from signalshed import simulate
    >>> has_walls(simulate.demo_site().mount("roof mast"))
    False
    """
    return _by_kind("mount_kinds", "entry_share")[mount.kind] > 0


def entry_loss_db(mount, freq_mhz):
    """Median loss into the building before a ``mount`` and its sd, dB, at ``freq_mhz`` (n,).

    Behind metal it is that of a whole room with foil.

    >>> from signalshed.site import Mount
    >>> entry_loss_db(Mount("rafters", "attic", 6.0), np.array([539.0]))[0].round(1).tolist()
    [7.0]
    """
    if not has_walls(mount):
        return np.zeros(freq_mhz.size), 0.0
    metal = mount.construction == "metal"
    share = 1.0 if metal else _by_kind("mount_kinds", "entry_share")[mount.kind]
    construction = "thermally_efficient" if metal else mount.construction
    loss = path.entry_loss_db(freq_mhz, construction=construction)
    return share * loss, share * path.entry_loss_sd_db(freq_mhz, construction=construction)


def mount_sd_db(mount, entry_sd_db):
    """One sd of what a ``mount`` does: walls (``entry_sd_db``), place in the room, what was typed of it.

    >>> from signalshed.site import Mount
    >>> float(mount_sd_db(Mount("mast", "mast", 9.1, extra_sd_db=3.0), 4.0))
    5.0
    """
    in_room = _by_kind("rooms", "spread_db").get(mount.kind, 0.0)
    return np.sqrt(np.square(entry_sd_db) + in_room**2 + mount.extra_sd_db**2)


def vegetation_loss_db(mount, freq_mhz, leaves=None):
    """What the trees before a mount cost, dB: an array of the shape of ``freq_mhz``.

    Parameters: ``mount`` a Mount; ``freq_mhz`` (n,); ``leaves`` none, bare or full, None for full.

    >>> from signalshed.site import Mount
    >>> vegetation_loss_db(Mount("behind the oak", "mast", 6, trees_m=0), np.array([539.0])).tolist()
    [0.0]
    """
    return np.asarray(path.vegetation_loss_db(freq_mhz, mount.trees_m, leaves or "full"))


def scattered_share(mount):
    """Share of a wave's power that reaches an antenna there from everywhere alike: 0 outdoors.

    Where it is not 0 no aim is sure: it is where a search begins. Parameters: ``mount`` a Mount.

    >>> from signalshed import simulate
    >>> scattered_share(simulate.demo_site().mount("roof mast"))
    0.0
    """
    return _by_kind("rooms", "scattered_share").get(mount.kind, 0.0)
