"""The CSV files a meter fills, column by column."""

from .. import facts
from .spec import Column, Spec
from .specs import RF_CHANNEL, bearings

_PAD_AT = Column(
    "pad_at",
    "choice",
    "Where the pad sat: at the antenna, before anything else, or at the set, after the cable.",
    choices=("antenna", "set"),
    default="set",
    example="set",
)
_LOCKED = Column(
    "locked",
    "bool",
    "Whether the tuner showed the station's picture.",
    required=True,
    example="yes",
)
_SCALE = Column(
    "scale",
    "choice",
    "Which of the tuner's figures was read; they are different scales.",
    choices=tuple(facts.table("meter_scales")["name"]),
    required=True,
    example="quality",
)
_METER = Column(
    "meter",
    "text",
    "Your name for the tuner whose meter was read.",
    required=True,
    example="living room",
)


READINGS = Spec(
    "readings.csv",
    "What the meter said, one row per reading, in the order they were made.",
    (
        Column(
            "time",
            "time",
            "When, with the offset from universal time.",
            required=True,
            example="2026-05-01T20:15:00-05:00",
        ),
        Column(
            "mount", "text", "Name of the mount in site.toml.", required=True, example="roof mast"
        ),
        Column(
            "antenna",
            "text",
            "Name of the antenna in antennas.toml.",
            required=True,
            example="attic loop",
        ),
        Column(
            "antenna_revision",
            "text",
            "Which revision of it, when you change an antenna between readings.",
            default="1",
            example="2",
        ),
        _METER,
        _SCALE,
        RF_CHANNEL,
        Column(
            "heading_deg",
            "number",
            "Where the antenna pointed, clockwise from true north; empty if it has no aim.",
            unit="degrees",
            low=0,
            high=360,
            variants=bearings("heading"),
            example="25",
        ),
        Column(
            "pad_db",
            "number",
            "Pads in the line.",
            unit="dB",
            low=0,
            high=100,
            default=0.0,
            example="6",
        ),
        _PAD_AT,
        Column(
            "amplifier",
            "choice",
            "Amplifier in the line: at the mast, at the set, in line but off, or none; empty: as in "
            "the feed of site.toml.",
            choices=("none", "mast", "set", "off"),
            example="none",
        ),
        Column(
            "reading",
            "number",
            "What the meter showed; for a needle that wandered its middle.",
            low=-130000,
            high=70000,
            example="82",
        ),
        Column("reading_low", "number", "Lowest it showed.", low=-130000, high=70000, example="80"),
        Column(
            "reading_high", "number", "Highest it showed.", low=-130000, high=70000, example="84"
        ),
        _LOCKED,
        Column("note", "note", "Weather, people, anything unusual.", example="light rain"),
    ),
    is_log=True,
)

METER = Spec(
    "meter.csv",
    "The pads-and-meter ladder: what the meter says as known pads go into the line.",
    (
        _METER,
        _SCALE,
        RF_CHANNEL,
        Column(
            "pad_db",
            "number",
            "Pads in the line.",
            unit="dB",
            low=0,
            high=100,
            required=True,
            example="6",
        ),
        _PAD_AT,
        Column(
            "reading",
            "number",
            "What the meter showed; may be empty without lock.",
            low=-130000,
            high=70000,
            example="71",
        ),
        _LOCKED,
    ),
    is_log=True,
)
