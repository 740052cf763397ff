"""The CSV files of a town and of a site folder, column by column."""

from .. import facts
from ..units import DBI_OF_HALF_WAVE_DIPOLE, KM_PER_MILE, M_PER_FOOT
from .spec import Column, Spec, Variant


def _standards():
    """Transmission standards, families first, so that they are the ones a message names."""
    rows = facts.table("standards")
    return tuple(dict.fromkeys([*rows["family"], *rows["standard"]]))


def _feet(name):
    return (Variant(name, "ft", scale=M_PER_FOOT),)


def bearings(stem):
    return (
        Variant(f"{stem}_true_deg", "degrees"),
        Variant(f"{stem}_compass_deg", "degrees", is_compass=True),
    )


RF_CHANNEL = Column(
    "rf_channel",
    "text",
    "The channel the station transmits on, which often is not the number the screen shows.",
    required=True,
    example="9",
)
_WHO = (
    Column("station", "text", "Name or call sign.", required=True, example="Gazette"),
    Column(
        "place",
        "text",
        "Name of the hill or mast it stands on; the station's own name when empty.",
        example="Kite Hill",
    ),
    RF_CHANNEL,
    Column(
        "shown_channels",
        "list",
        "The numbers the screen shows, several where stations share a channel.",
        example="9.1 9.2",
    ),
    Column(
        "standard",
        "choice",
        "Transmission standard, or one of its modes; when empty the usual one of the region, if any.",
        choices=_standards(),
        aliases=(("ATSC 1.0", "ATSC1"), ("ATSC 3.0", "ATSC3"), ("8-VSB", "ATSC1")),
        example="ATSC1",
    ),
)
_WHERE = (
    Column(
        "latitude_deg",
        "number",
        "Latitude of its antenna, north positive. Latitude and longitude, or bearing and distance.",
        unit="degrees",
        low=-90,
        high=90,
        example="30.812",
    ),
    Column(
        "longitude_deg",
        "number",
        "Longitude of its antenna, east positive, west negative.",
        unit="degrees",
        low=-180,
        high=180,
        variants=(Variant("longitude_west_deg", "degrees, west positive", scale=-1.0),),
        example="-40.551",
    ),
    Column(
        "bearing_deg",
        "number",
        "Bearing from the site, clockwise from true north; a compass bearing is corrected.",
        unit="degrees",
        low=0,
        high=360,
        variants=bearings("bearing"),
        example="25",
    ),
    Column(
        "distance_km",
        "number",
        "Distance from the site.",
        unit="km",
        low=0.1,
        high=1000,
        variants=(Variant("distance_mi", "mi", scale=KM_PER_MILE),),
        example="48.3",
    ),
)
_POWER = (
    Column(
        "erp_kw",
        "number",
        "Greatest effective radiated power in any direction, over a half-wave dipole.",
        unit="kW",
        above=0,
        high=10000,
        variants=(
            Variant("erp_w", "W", scale=0.001),
            Variant("erp_dbk", "dB over 1 kW", is_db=True),
        ),
        example="400",
    ),
    Column(
        "erp_toward_kw",
        "number",
        "Effective radiated power toward the site, if you know it; it wins over erp_kw.",
        unit="kW",
        above=0,
        high=10000,
        variants=(
            Variant("erp_toward_w", "W", scale=0.001),
            Variant("erp_toward_dbk", "dB over 1 kW", is_db=True),
        ),
        example="310",
    ),
    Column(
        "pattern",
        "text",
        "File in the folder patterns beside this list: the transmit antenna's pattern.",
        example="gazette.csv",
    ),
    Column(
        "polarization",
        "choice",
        "How it transmits; both where it is circular or elliptical.",
        choices=("horizontal", "vertical", "both"),
        aliases=(
            ("h", "horizontal"),
            ("v", "vertical"),
            ("circular", "both"),
            ("elliptical", "both"),
        ),
        default="horizontal",
        example="horizontal",
    ),
)
_HEIGHT = (
    Column(
        "antenna_height_m",
        "number",
        "Height of its antenna above average terrain toward the site (or on average).",
        unit="m",
        low=-200,
        high=3000,
        variants=_feet("antenna_height_ft"),
        example="285",
    ),
    Column(
        "antenna_amsl_m",
        "number",
        "Height of its antenna above sea level; used with a terrain profile.",
        unit="m",
        low=-430,
        high=9000,
        variants=_feet("antenna_amsl_ft"),
        example="412",
    ),
)
_REST = (
    Column(
        "needs_cn_db",
        "number",
        "Carrier over noise the tuner needs; when empty that of its standard.",
        unit="dB",
        low=-20,
        high=60,
        example="15.2",
    ),
    Column("wanted", "bool", "Whether you want to watch it; television only.", example="yes"),
    Column(
        "service",
        "choice",
        "Television, or a neighbour that can only hurt: FM radio, mobile telephone.",
        choices=("tv", "fm", "mobile"),
        default="tv",
        example="tv",
    ),
    Column(
        "antenna_agl_m",
        "number",
        "Height of its antenna above the ground at its foot.",
        unit="m",
        above=0,
        high=1000,
        variants=_feet("antenna_agl_ft"),
        example="110",
    ),
    Column(
        "freq_mhz",
        "number",
        "Centre frequency; must be filled for fm and mobile, television takes it from the channel.",
        unit="MHz",
        low=30,
        high=6000,
        example="",
    ),
    Column(
        "bandwidth_mhz",
        "number",
        "Bandwidth; for fm (0.2) and mobile (10) only, television takes it from the channel.",
        unit="MHz",
        above=0,
        high=200,
        example="",
    ),
    Column("note", "note", "Anything you want to remember.", example="main transmitter"),
)

STATIONS = Spec(
    "stations.csv",
    "Every station that could matter, one row each.",
    _WHO + _WHERE + _POWER + _HEIGHT + _REST,
)

_FREQ = Column(
    "freq_mhz",
    "number",
    "Frequency of the row, if known.",
    unit="MHz",
    low=30,
    high=3000,
    example="539",
)

RECEIVE_PATTERN = Spec(
    "patterns/*.csv",
    "Pattern of an antenna of yours: gain_dbd or relative_db, whichever the header says.",
    (
        Column(
            "azimuth_deg",
            "number",
            "Angle from the aim, clockwise seen from above.",
            unit="degrees",
            low=-360,
            high=360,
            required=True,
            example="10",
        ),
        Column(
            "gain_dbd",
            "number",
            "Gain over a half-wave dipole, mismatch and balun inside.",
            unit="dBd",
            low=-120,
            high=40,
            variants=(Variant("gain_dbi", "dBi", offset=-DBI_OF_HALF_WAVE_DIPOLE),),
            example="7.4",
        ),
        Column(
            "relative_db",
            "number",
            "Level against the top of the pattern; the gain at the top stands in antennas.toml.",
            unit="dB",
            low=-120,
            high=0.5,
            example="-0.4",
        ),
        _FREQ,
    ),
)

TRANSMIT_PATTERN = Spec(
    "patterns/*.csv",
    "Pattern of a station's antenna: relative_field or relative_db, whichever the header says.",
    (
        Column(
            "azimuth_deg",
            "number",
            "True bearing from the station.",
            unit="degrees",
            low=0,
            high=360,
            required=True,
            example="10",
        ),
        Column(
            "relative_field",
            "number",
            "Field against the strongest direction, as licence records give it.",
            low=0,
            high=1.02,
            example="0.71",
        ),
        Column(
            "relative_db",
            "number",
            "Power against the strongest direction.",
            unit="dB",
            low=-120,
            high=0.2,
            example="-3",
        ),
    ),
)

TRIAL_GAINS = Spec(
    "trial_gains.csv",
    "Gains measured in a fair trial, which antennas.toml may name.",
    (
        Column(
            "antenna", "text", "Name the antenna had in the trial.", required=True, example="mesh"
        ),
        Column(
            "freq_mhz",
            "number",
            "Channel centre.",
            unit="MHz",
            low=30,
            high=3000,
            required=True,
            example="539",
        ),
        Column(
            "gain_dbd",
            "number",
            "Gain toward the aim.",
            unit="dBd",
            low=-60,
            high=40,
            required=True,
            example="7.4",
        ),
        Column(
            "low_dbd",
            "number",
            "Low end of its 90 % interval.",
            unit="dBd",
            low=-80,
            high=60,
            required=True,
            example="5.9",
        ),
        Column(
            "high_dbd",
            "number",
            "High end of its 90 % interval.",
            unit="dBd",
            low=-80,
            high=60,
            required=True,
            example="8.8",
        ),
    ),
)
