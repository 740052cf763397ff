"""Read, check and write the CSV and TOML files of a town or site folder.

One description per file says which columns or keys it has, in which unit and range, what stands in
when a cell is empty, and what it means. Reading, checking, blank templates and the data dictionary
all come from it.

=============  ================================================================================
description    ``Column``, ``Variant``, ``Spec``
contents       ``STATIONS``, ``READINGS``, ``METER``, ``RECEIVE_PATTERN``, ``TRANSMIT_PATTERN``,
               ``TRIAL_GAINS``; ``SPECS``, all by file name
reading        ``read``; ``BadTable``, the one error, holding every problem as a table; where many
               files are read before it is raised: ``read_text``, ``read_toml``, ``check_csv``,
               ``check_keys``, which note theirs in one ``Problems``
writing        ``write_csv``, ``write_atomic``; ``CannotSave``
=============  ================================================================================
"""

from .meter_specs import METER, READINGS
from .problems import BadTable, Problems
from .reading import check_csv, read
from .spec import Column, Spec, Variant
from .specs import RECEIVE_PATTERN, STATIONS, TRANSMIT_PATTERN, TRIAL_GAINS
from .text import read_text
from .toml import check_keys, read_toml
from .writing import CannotSave, write_atomic, write_csv

SPECS = {spec.file: spec for spec in (STATIONS, READINGS, METER, TRIAL_GAINS)}
"""All of them by file name."""

__all__ = [
    "METER",
    "READINGS",
    "RECEIVE_PATTERN",
    "SPECS",
    "STATIONS",
    "TRANSMIT_PATTERN",
    "TRIAL_GAINS",
    "BadTable",
    "CannotSave",
    "Column",
    "Problems",
    "Spec",
    "Variant",
    "check_csv",
    "check_keys",
    "read",
    "read_text",
    "read_toml",
    "write_atomic",
    "write_csv",
]
