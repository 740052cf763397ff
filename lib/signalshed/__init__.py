"""Signalshed: from channels, wire, terrain and readings to decibels, and to advice for a roof.

``import signalshed as shed`` is all a notebook needs; each subject is a module that loads when it
is first used, so ``shed.path.free_space_dbuv_m(1000, 50)`` works at once.

====================  ======================================================================
``shed.channels``     channel plans, bands, wavelengths                             lesson 1
``shed.path``         field strength at the roof                                    lesson 2
``shed.chain``        cable, amplifier, splitter, tuner                             lesson 2
``shed.budget``       the line-by-line account of one station                       lesson 2
``shed.meters``       readings and pads to decibels                                 lesson 3
``shed.wires``        currents, impedance and pattern of any wire shape             lesson 4
``shed.builds``       antennas and screens from builder's sizes, cut lists          lesson 4
``shed.survey``       stations, setups and headings at a site                       lesson 5
``shed.trials``       fair side-by-side tests                                       lesson 6
``shed.advice``       which antenna for this roof, and why                          lesson 7
``shed.site``         a site folder opened          ``shed.antenna``   one antenna
``shed.earth``        distance, bearing, terrain    ``shed.report``    the printable page
``shed.plots``        figures                       ``shed.simulate``  invented sites
``shed.units``        conversions                   ``shed.facts``     numbers and their sources
``shed.tables``       files read and written        ``shed.words``     numbers said in words
``shed.classroom``    panels, cards, forms          ``shed.markup``    text, tables, cards as HTML
``shed.belief``       what readings teach about the path, by exact sums
``shed.registers``    public records of transmitters as they come
====================  ======================================================================
"""

import importlib
from types import ModuleType

__version__ = "0.1.0"

_MODULES = (
    "facts",
    "units",
    "words",
    "markup",
    "tables",
    "channels",
    "earth",
    "path",
    "chain",
    "belief",
    "meters",
    "wires",
    "builds",
    "antenna",
    "registers",
    "site",
    "budget",
    "survey",
    "trials",
    "advice",
    "simulate",
    "plots",
    "report",
    "classroom",
)
__all__ = ["__version__", *_MODULES]


def handed_on(names):
    """Of ``names``, the globals() of a package, those it hands on: all but modules and private ones."""
    return [n for n, x in names.items() if n[0] != "_" and not isinstance(x, ModuleType)]


def __getattr__(name):
    if name in _MODULES:
        return importlib.import_module(f"{__name__}.{name}")
    raise AttributeError(f"signalshed has no module {name!r}; it has {', '.join(_MODULES)}.")


def __dir__():
    return sorted(__all__)
