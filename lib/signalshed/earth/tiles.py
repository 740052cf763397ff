"""Terrain tiles: squares of one degree, 16-bit heights, placed by their file names."""

import re
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .. import facts
from ..units import check, turn_deg

_FACTS = facts.numbers("terrain_tiles")
_PACKED = (".zip", ".gz", ".tif", ".tiff", ".bil", ".asc")
_NAME = re.compile(r"([NS])(\d{2})([EW])(\d{3})\.(hgt|hgt\.zip|zip)", re.IGNORECASE)


@dataclass(frozen=True, eq=False)
class Tiles:
    """The tiles of a folder: ``files`` maps (south edge, west edge) in whole degrees to a file.

    Files are opened when a path first needs them, and mapped into memory; zipped ones are read whole.
    Samples that cannot be land count as void.
    ``left_out`` sentences on files that are no tiles; ``notes`` those and
    what was found wrong in the tiles opened so far.
    """

    files: dict
    left_out: tuple = ()
    _maps: dict = field(default_factory=dict, init=False, repr=False)
    _found: dict = field(default_factory=dict, init=False, repr=False)

    def __len__(self):
        return len(self.files)

    def name(self, corner):
        """File name of the tile with its ``corner`` (south, west); also of one that is missing."""
        return self.files[corner].name if corner in self.files else f"{tile_name(corner)}.hgt"

    @property
    def notes(self):
        """Sentences on what is wrong with files and samples, each naming file and place."""
        return (*self.left_out, *(words for words in self._found.values() if words))

    def heights_m(self, latitude_deg, longitude_deg):
        """Ground above sea level, m, bilinear between samples; NaN in voids and off the tiles.

        Parameters, which broadcast: ``latitude_deg`` -90 to 90, ``longitude_deg`` -540 to 540.
        """
        return self.look_up(latitude_deg, longitude_deg)[0]

    def look_up(self, latitude_deg, longitude_deg):
        """Heights as in ``heights_m``, and the corners (south, west) of the tiles asked: two arrays.

        Parameters: ``latitude_deg``, ``longitude_deg`` as in ``heights_m``.
        """
        latitude = check("latitude_deg", latitude_deg, low=-90, high=90)
        longitude = check("longitude_deg", longitude_deg, low=-540, high=540)
        latitude, longitude = np.broadcast_arrays(latitude, turn_deg(0, longitude))
        south, west = self._edges(latitude, longitude)
        heights = np.full(latitude.shape, np.nan)
        key = south * 1000 + west
        for one in np.unique(key):
            inside = key == one
            corner = (int(south[inside][0]), int(west[inside][0]))
            if corner in self.files:
                heights[inside] = _bilinear(
                    self._samples(corner),
                    latitude[inside] - corner[0],
                    longitude[inside] - corner[1],
                )
        return heights, south, west

    def _samples(self, corner):
        if corner not in self._maps:
            file = self.files[corner]
            samples = _opened(file)
            wrong = _in_the_other_order(samples)
            self._maps[corner] = np.full((2, 2), _FACTS.void_m) if wrong else samples
            words = _OTHER_ORDER if wrong else _no_land(samples, corner)
            self._found[corner] = f"terrain tile {file.name}: {words}" if words else ""
        return self._maps[corner]

    def _edges(self, latitude, longitude):
        """South and west edges of each point's tile; a point on an edge takes the tile there is."""
        south, west = np.floor(latitude).astype(int), np.floor(longitude).astype(int)
        on_south, on_west = latitude == south, longitude == west
        for at in np.argwhere(on_south | on_west):
            at = tuple(at)
            steps = [(i, j) for i in range(1 + on_south[at]) for j in range(1 + on_west[at])]
            there = [(int(south[at]) - i, int(west[at]) - j) for i, j in steps]
            south[at], west[at] = next((c for c in there if c in self.files), there[0])
        return south, west


def _opened(file):
    """Heights of a tile (side, side), north row first: mapped into memory, or out of a zip file."""
    side = round((_size(file) / 2) ** 0.5)
    if file.suffix.lower() == ".hgt":
        return np.memmap(file, dtype=">i2", mode="r", shape=(side, side))
    with zipfile.ZipFile(file) as packed:
        return np.frombuffer(packed.read(_member(packed)), dtype=">i2").reshape(side, side)


def _member(packed):
    """The one tile in an open zip file. Raises ValueError."""
    inside = [member for member in packed.infolist() if member.filename.lower().endswith(".hgt")]
    if len(inside) != 1:
        raise ValueError(
            f"holds {len(inside)} tiles; a zip file of one, or only unpacked tiles, are read."
        )
    return inside[0]


def _size(file):
    """Bytes of a tile, unpacked. Raises ValueError for a zip file that is none."""
    if file.suffix.lower() == ".hgt":
        return file.stat().st_size
    try:
        with zipfile.ZipFile(file) as packed:
            return _member(packed).file_size
    except zipfile.BadZipFile:
        raise ValueError("only unpacked tiles are read, and zip files that are whole.") from None


def tile_name(corner):
    """The name of the tile with a ``corner`` (south, west), without its ending.

    >>> tile_name((-34, 18))
    'S34E018'
    """
    south, west = corner
    return f"{'NS'[south < 0]}{abs(south):02d}{'EW'[west < 0]}{abs(west):03d}"


def tile_of(name):
    """The tile that a file called ``name`` holds, as ``tile_name``; "" for a file that is no tile.

    >>> tile_of("n45w123.HGT.zip"), tile_of("readme.txt")
    ('N45W123', '')
    """
    corner = _corner(Path(name).name)
    return tile_name(corner) if corner else ""


def open_tiles(folder):
    """The terrain tiles of a folder: a Tiles.

    Parameters: ``folder`` with files like N45W123.hgt (the south-west corner): 1201 x 1201 or
    3601 x 3601 heights in m, 16-bit big-endian, north row first, -32768 where nothing is known.
    Such a file alone in N45W123.hgt.zip or N45W123.zip is read too.
    A file that is none (cut short, of an odd size, of another name) is left out and named in ``notes``.
    ValueError where there is no such folder.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     flat = np.full((1201, 1201), 250, dtype=">i2")
    ...     flat.tofile(Path(folder) / "N45W123.hgt")
    ...     float(open_tiles(folder).heights_m(45.2, -122.7))
    250.0
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise ValueError(f"There is no folder {folder} for terrain tiles.")
    files, problems = {}, []
    for file in sorted(p for p in folder.iterdir() if p.suffix.lower() == ".hgt" or tile_of(p)):
        corner = _corner(file.name)
        problem = _name_problem(file, corner, files) or _size_problem(file)
        if problem:
            problems.append(problem)
        else:
            files[corner] = file
    packed = (p.name for p in sorted(folder.iterdir()) if p.suffix.lower() in _PACKED)
    strange = (name for name in packed if not tile_of(name))
    problems += [
        f"{name}: only unpacked tiles, like N45W123.hgt, and zipped ones, are read."
        for name in strange
    ]
    return Tiles(files, tuple(f"terrain tile {problem} It is left out." for problem in problems))


def _corner(name):
    match = _NAME.fullmatch(name)
    if not match:
        return None
    north_south, south, east_west, west, _ = match.groups()
    south = int(south) * (-1 if north_south in "Ss" else 1)
    west = int(west) * (-1 if east_west in "Ww" else 1)
    return (south, west) if -90 <= south < 90 and -180 <= west < 180 else None


def _name_problem(file, corner, files):
    if corner is None:
        return f"{file.name}: a tile is named by its south-west corner, like N45W123.hgt."
    if corner in files:
        return f"{file.name}: {files[corner].name} covers the same place; keep one."
    return ""


def _size_problem(file):
    fitting = {2 * int(side) ** 2: int(side) for side in (_FACTS.side_coarse, _FACTS.side_fine)}
    try:
        size = _size(file)
    except ValueError as error:
        return f"{file.name}: {error}"
    if size in fitting:
        return ""
    whole = " or ".join(f"{needed} bytes ({side} x {side})" for needed, side in fitting.items())
    return f"{file.name}: has {size} bytes, a tile has {whole}; it is cut short or of another kind."


def _bilinear(samples, north, east):
    """Height between the four samples round each point; NaN if one that counts is void, or where the
    four differ by more than any land does."""
    last = samples.shape[0] - 1
    row, column = (1 - north) * last, east * last
    top = np.clip(row.astype(int), 0, last - 1)
    left = np.clip(column.astype(int), 0, last - 1)
    down, right = row - top, column - left
    four = [samples[top + i, left + j].astype(float) for i in (0, 1) for j in (0, 1)]
    four = np.stack(four)
    four[(four < _FACTS.lowest_m) | (four > _FACTS.highest_m)] = np.nan
    weight = np.stack(
        [(1 - down) * (1 - right), (1 - down) * right, down * (1 - right), down * right]
    )
    height = np.where(weight > 0, weight * four, 0).sum(axis=0)
    cliff = np.fmax.reduce(four) - np.fmin.reduce(four) > _FACTS.steepest_step_m
    height[cliff] = np.nan
    return height


_OTHER_ORDER = (
    "its bytes stand in the other order (the high byte has to come first); all of it is void."
)


def _in_the_other_order(samples):
    """Whether the land would be far smoother with each pair of bytes turned round.

    Looked at on some rows, each step counted as 300 m at most, so that single mistakes decide nothing.
    """
    rows = np.asarray(samples[:: max(1, len(samples) // 24)])
    as_read, turned = (
        np.minimum(np.abs(np.diff(rows.view(kind).astype(float))), 300).mean()
        for kind in (">i2", "<i2")
    )
    return 4 * turned < as_read


def _no_land(samples, corner):
    """Words on samples that no land can have, and where the first stands; "" without any."""
    high_byte = np.asarray(samples).view(np.uint8)[:, ::2]
    if not ((high_byte - np.uint8(0x22)) < np.uint8(0xFF - 0x22)).any():
        return ""
    wrong = (samples < _FACTS.lowest_m) | (samples > _FACTS.highest_m)
    wrong &= samples != _FACTS.void_m
    count = int(np.count_nonzero(wrong))
    if not count:
        return ""
    row, column = np.unravel_index(int(wrong.argmax()), wrong.shape)
    last = len(samples) - 1
    place = f"{corner[0] + 1 - row / last:.4f}, {corner[1] + column / last:.4f}"
    more = f" and {count - 1} more" if count > 1 else ""
    return (
        f"a height of {int(samples[row, column])} m at {place}{more} cannot be land; taken as void."
    )
