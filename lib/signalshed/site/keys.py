"""The keys of site.toml and antennas.toml, table by table: what each holds and means."""

from .. import chain, channels, facts
from ..tables import Column, Variant
from ..units import DBI_OF_HALF_WAVE_DIPOLE, M_PER_FOOT
from .model import AIMS, CONSTRUCTIONS, MOUNT_KINDS, POLARIZATIONS

_TABLE = facts.table("standards")
_STANDARDS = tuple(dict.fromkeys([*_TABLE["family"], *_TABLE["standard"]]))
_ISO = (Variant("gain_dbi", "dBi", offset=-DBI_OF_HALF_WAVE_DIPOLE),)


def _text(name, meaning, **more):
    return Column(name, "text", meaning, **more)


def _db(name, meaning, low=0, high=100, **more):
    return Column(name, "number", meaning, unit="dB", low=low, high=high, **more)


def _dbm(name, meaning, example, **more):
    return Column(name, "number", meaning, unit="dBm", low=-80, high=60, example=example, **more)


def _mhz(name, meaning, **more):
    return Column(name, "number", meaning, unit="MHz", low=30, high=3000, **more)


def _metres(name, meaning, **more):
    also = (Variant(name.removesuffix("_m") + "_ft", "ft", scale=M_PER_FOOT),)
    return Column(name, "number", meaning, unit="m", variants=also, **more)


def _degrees(name, meaning, default, example):
    compass = Variant(name.replace("_deg", "_compass_deg"), "degrees", is_compass=True)
    return Column(
        name,
        "number",
        meaning,
        unit="degrees",
        low=0,
        high=360,
        default=default,
        variants=(compass,),
        example=example,
    )


def _choice(name, meaning, choices, **more):
    return Column(name, "choice", meaning, choices=choices, **more)


SITE = (
    _text("name", "Your name for the site.", required=True, example='"my roof"'),
    Column(
        "latitude",
        "number",
        "Latitude, north positive.",
        unit="degrees",
        low=-90,
        high=90,
        required=True,
        example="30.45",
    ),
    Column(
        "longitude",
        "number",
        "Longitude, east positive, west negative.",
        unit="degrees",
        low=-180,
        high=180,
        required=True,
        example="-40.70",
    ),
    _choice(
        "region",
        "Whose channel plan: us (with Canada), ge06 (Europe, Africa, parts of Asia), au, jp, br.",
        channels.REGIONS,
        required=True,
        example='"us"',
    ),
    Column(
        "declination_deg",
        "number",
        "How far east of true north a compass points here; when empty by the magnetic model.",
        unit="degrees",
        low=-180,
        high=180,
        example="-12",
    ),
    _text("town", "Folder with the town's stations and terrain.", example='"../town"'),
    Column(
        "certainty",
        "number",
        "Chance from which on a station counts as sure.",
        above=0,
        high=0.999,
        default=0.8,
        example="0.8",
    ),
    Column(
        "clutter_m",
        "number",
        "How high houses and trees stand along the paths: 0 open land, 10 suburbs, 15 forest or town.",
        unit="m",
        low=0,
        high=60,
        default=facts.value("judgement", "path_clutter_m"),
        example="10",
    ),
    _choice(
        "noise",
        "Neighbourhood, for man-made noise at VHF.",
        chain.ENVIRONMENTS,
        default="residential",
        example='"residential"',
    ),
)

TUNER = (
    _text("name", "Your name for it.", default="tuner", example='"living room"'),
    Column(
        "standards",
        "list",
        "Standards it decodes; the family stands for all its modes.",
        choices=_STANDARDS,
        required=True,
        example='["ATSC1"]',
    ),
    _db("noise_figure_db", "Noise figure.", high=30, default=7.0, example="7"),
    _dbm(
        "max_input_dbm",
        "Most total power at its input.",
        "-8",
        default=facts.value("receiver", "tuner_max_input_dbm"),
    ),
    _dbm("input_ip3_dbm", "Third-order intercept point at its input.", "-5"),
)

MOUNT = (
    _text("name", "Your name for it.", required=True, example='"roof mast"'),
    _choice("kind", "What kind of place it is.", MOUNT_KINDS, required=True, example='"mast"'),
    _metres(
        "height_agl_m", "Height above the ground.", above=0, high=500, required=True, example="9"
    ),
    _degrees("open_from_deg", "It sees from this true bearing ...", 0.0, "330"),
    _degrees("open_to_deg", "... clockwise to this one; 0 to 360 is all round.", 360.0, "130"),
    _db("blocked_loss_db", "Loss of a station outside that sector.", default=20.0, example="20"),
    _metres("trees_m", "Metres of leaves in the way.", low=0, high=500, default=0.0, example="10"),
    _choice(
        "construction",
        "How the building is made; matters indoors. Metal: foil insulation or metal roof too.",
        CONSTRUCTIONS,
        default="traditional",
        example='"traditional"',
    ),
    _choice(
        "polarization",
        "How antennas lie on it; vertical: turned on their side.",
        POLARIZATIONS,
        default="horizontal",
        example='"horizontal"',
    ),
    _text("feed", "Name of its feed; needed where there are several.", example='"mast line"'),
    _choice(
        "aim",
        "fixed, rotator, or never aimed; when empty never on a vehicle or boat, else fixed.",
        AIMS,
        example='"fixed"',
    ),
    Column(
        "power",
        "bool",
        "Whether there is a supply for an amplifier on its line.",
        default=True,
        example="true",
    ),
    _db(
        "extra_loss_db",
        "What this place costs beyond all that.",
        low=-100,
        default=0.0,
        example="0",
    ),
    _db("extra_sd_db", "One standard deviation of that.", default=0.0, example="0"),
)

FEED = (_text("name", "Your name for it.", required=True, example='"mast line"'),)

PARTS = {
    "coax": (
        _choice(
            "coax",
            "Coaxial cable by its size.",
            tuple(facts.table("coax")["type"]),
            aliases=tuple(
                (f"RG{dash}{n}", f"series{n}") for n in (6, 11, 59) for dash in ("", "-")
            ),
            required=True,
            example='"series6"',
        ),
        _metres("length_m", "Its length.", low=0, high=1000, required=True, example="15"),
    ),
    "amplifier": (
        _text("amplifier", "Your name for it.", required=True, example='"mast amplifier"'),
        _db("gain_db", "Gain.", low=-10, high=60, required=True, example="16"),
        _db("noise_figure_db", "Noise figure.", high=30, required=True, example="2"),
        _dbm("input_ip3_dbm", "Third-order intercept point at its input.", "0"),
        Column(
            "max_output_dbuv",
            "number",
            "Its greatest output for two carriers and products 60 dB down, if the label gives that.",
            unit="dBuV",
            low=60,
            high=160,
            example="105",
        ),
        _dbm("max_input_dbm", "Most total power at its input.", "-10"),
        Column("powered", "bool", "Whether its supply is on.", default=True, example="true"),
    ),
    "splitter": (
        Column(
            "splitter", "number", "Number of outlets.", low=2, high=8, required=True, example="2"
        ),
    ),
    "pad_db": (_db("pad_db", "Attenuator pad.", required=True, example="6"),),
    "filter": (
        _text("filter", "Your name for it.", required=True, example='"FM filter"'),
        _mhz("stop_low_mhz", "It stops from here ...", required=True, example="88"),
        _mhz("stop_high_mhz", "... to here.", required=True, example="108"),
        _db("rejection_db", "Loss there.", high=120, example="20"),
        _db("loss_db", "Loss elsewhere.", high=120, example="0.5"),
    ),
    "part": (
        _text(
            "part",
            "Your name for anything else that only loses.",
            required=True,
            example='"wall plate"',
        ),
        _db("loss_db", "Its loss.", required=True, example="1"),
    ),
}
"""Keys of the parts of a feed, by the key that says which part it is."""

ANTENNA = (
    _text("name", "Your name for it.", required=True, example='"attic loop"'),
    Column(
        "gain_dbd",
        "numbers",
        "Gain over a half-wave dipole toward the aim, balun inside; a list gives one per freq_mhz.",
        unit="dBd",
        low=-60,
        high=40,
        variants=_ISO,
        example="1.5",
    ),
    Column(
        "beamwidth_deg",
        "numbers",
        "Width between the 3 dB points; when empty the width usual for such a gain.",
        unit="degrees",
        above=0,
        high=360,
        example="70",
    ),
    _db(
        "front_to_back_db",
        "How much less it hears from behind.",
        high=60,
        default=15.0,
        example="15",
    ),
    Column(
        "freq_mhz",
        "numbers",
        "Rising frequencies of a list of gains.",
        unit="MHz",
        low=30,
        high=3000,
        example="[470, 539, 608]",
    ),
    _mhz("low_mhz", "Lowest frequency it is known at.", example="470"),
    _mhz("high_mhz", "Highest frequency it is known at.", example="608"),
    _text("low_channel", "Lowest RF channel, in place of low_mhz.", example='"14"'),
    _text("high_channel", "Highest RF channel, in place of high_mhz.", example='"36"'),
    _text(
        "pattern", "File in the folder patterns, in place of gain numbers.", example='"loop.csv"'
    ),
    _text(
        "trial",
        "File of gains a trial wrote; beside another description it holds where it measured.",
        example='"trial_gains.csv"',
    ),
    _text("build", "Form to build, in place of gain numbers, with its sizes.", example='"loop"'),
    _choice(
        "polarization", "As built.", POLARIZATIONS, default="horizontal", example='"horizontal"'
    ),
    Column(
        "lives",
        "list",
        "Kinds of mount it may live on; when empty any.",
        choices=MOUNT_KINDS,
        default=MOUNT_KINDS,
        example='["attic", "window"]',
    ),
    Column(
        "effort",
        "number",
        "From 1, done in an evening, to 5.",
        low=1,
        high=5,
        default=2.0,
        example="2",
    ),
    _text(
        "revision",
        "Which revision, when you change it between readings.",
        default="1",
        example='"1"',
    ),
    _db("spread_db", "One standard deviation of its gain.", high=20, example="3"),
    Column("note", "note", "Anything you want to remember.", default="", example='"garden wire"'),
)
