"""Read, check and write the CSV and TOML files of a town or site folder.

One description per file says which columns or keys it has, in which unit and range, what stands in
when a cell is empty, and what it means. Reading, checking, blank templates and the data dictionary
all come from it.

=============  ================================================================================
description    ``Column``, ``Variant``, ``Spec``, in ``tables.spec``
contents       ``TABLES``, every Spec by the name of its table in ``columns.csv``; those used most
               often under names of their own: ``STATIONS``, ``READINGS``, ``METER``,
               ``TRIAL_GAINS`` of CSV files, ``SITE``, ``TUNER``, ``MOUNT``, ``PARTS`` (by part) of
               TOML files
a lock         ``lock``, ``locks``: yes, no or not known, however it was written
reading        ``read``; ``BadTable``, the one error, holding every problem as a table; where many
               files are read before it is raised: ``read_text``, ``read_toml``, ``check_csv``,
               ``check_frame``, ``Spot`` of a TOML table, which note theirs in one ``Problems``
writing        ``write_csv``, ``write_atomic``; ``CannotSave``; ``append`` to a file that others hold
               open, and ``cell_text``, a value as a cell
=============  ================================================================================
"""

from .appending import append
from .cells import lock, locks
from .columns import METER, MOUNT, PARTS, READINGS, SITE, STATIONS, TABLES, TRIAL_GAINS, TUNER
from .problems import BadTable, Problems
from .reading import check_csv, check_frame, read, text_log
from .text import read_text
from .toml import Spot, read_toml
from .writing import CannotSave, cell_text, write_atomic, write_csv

# All that is imported above is handed on, but no module.
__all__ = [n for n, it in globals().copy().items() if n[0] != "_" and not hasattr(it, "__file__")]


def __dir__():
    return __all__
