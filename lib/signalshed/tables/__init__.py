"""Read, check and write the CSV and TOML files of a town or site folder.

One description per file says which columns or keys it has, in which unit and range, what stands in
when a cell is empty, and what it means. Reading, checking, blank templates and the data dictionary
all come from it.

=============  ================================================================================
description    ``Column``, ``Variant``, ``Spec``
contents       from ``columns.csv``: ``STATIONS``, ``READINGS``, ``METER``, ``RECEIVE_PATTERN``,
               ``TRANSMIT_PATTERN``, ``TRIAL_GAINS`` of CSV files; ``SITE``, ``TUNER``, ``MOUNT``,
               ``FEED``, ``PARTS`` (by part), ``ANTENNA`` of TOML files; ``SPECS``, CSV files by name
a lock         ``lock``, ``locks``: yes, no or not known, however it was written
reading        ``read``; ``BadTable``, the one error, holding every problem as a table; where many
               files are read before it is raised: ``read_text``, ``read_toml``, ``check_csv``,
               ``check_frame``, ``check_keys``, which note theirs in one ``Problems``
writing        ``write_csv``, ``write_atomic``; ``CannotSave``
=============  ================================================================================
"""

from .cells import lock, locks
from .columns import (
    ANTENNA,
    FEED,
    METER,
    MOUNT,
    PARTS,
    READINGS,
    RECEIVE_PATTERN,
    SITE,
    SPECS,
    STATIONS,
    TRANSMIT_PATTERN,
    TRIAL_GAINS,
    TUNER,
)
from .problems import BadTable, Problems
from .reading import check_csv, check_frame, read
from .spec import Column, Spec, Variant
from .text import read_text
from .toml import check_keys, read_toml
from .writing import CannotSave, write_atomic, write_csv

__all__ = [
    "ANTENNA",
    "FEED",
    "METER",
    "MOUNT",
    "PARTS",
    "READINGS",
    "RECEIVE_PATTERN",
    "SITE",
    "SPECS",
    "STATIONS",
    "TRANSMIT_PATTERN",
    "TRIAL_GAINS",
    "TUNER",
    "BadTable",
    "CannotSave",
    "Column",
    "Problems",
    "Spec",
    "Variant",
    "check_csv",
    "check_frame",
    "check_keys",
    "lock",
    "locks",
    "read",
    "read_text",
    "read_toml",
    "write_atomic",
    "write_csv",
]
