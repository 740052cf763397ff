"""The account of one station: planning factors, arithmetic, agreement with the survey."""

import itertools
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from signalshed import antenna, budget, chain, earth, path, simulate, survey
from signalshed.site import CONSTRUCTIONS, Mount, Place, Site

BAND = {"vhf_low": 69.0, "vhf_high": 194.0, "uhf": 615.0}


def stations(**columns):
    """A table of stations with usual values, one row per distance."""
    n = max(np.size(v) for v in columns.values())
    usual = {
        "station": [f"s{i}" for i in range(n)],
        "place": [f"p{i}" for i in range(n)],
        "rf_channel": "20",
        "shown_channels": "",
        "standard": "ATSC1",
        "freq_mhz": 509.0,
        "bandwidth_mhz": 6.0,
        "bearing_deg": 0.0,
        "distance_km": 50.0,
        "erp_kw": 1000.0,
        "haat_m": 300.0,
        "antenna_amsl_m": np.nan,
        "transmit_agl_m": np.nan,
        "needs_cn_db": np.nan,
        "polarization": "horizontal",
        "wanted": True,
        "service": "tv",
        "unknown_sd_db": 0.0,
        "latitude_deg": np.nan,
        "longitude_deg": np.nan,
        "note": "",
    }
    return pd.DataFrame(usual | columns, index=range(n))


def site_of(table, line_db=4.0, noise_figure_db=7.0, noise="none", mounts=(), antennas=()):
    mounts = mounts or (Mount("mast", "mast", 9.1),)
    feed = chain.Feed("line", (chain.pad(line_db),))
    return Site(
        name="test",
        region="us",
        place=Place("here", 30.0, -40.0),
        mounts={m.name: m for m in mounts},
        feeds={"line": feed},
        tuner=chain.Tuner("set", ("ATSC1",), noise_figure_db),
        stations=table,
        antennas={a.name: a for a in antennas},
        readings=pd.DataFrame(),
        noise=noise,
    )


def flat(gain_dbd, low=50, high=700):
    return antenna.from_numbers("flat", [low, high], gain_dbd, 360, 0)


@pytest.mark.parametrize(
    ("band", "gain_dbd", "line_db", "noise_figure_db", "field_dbuv_m"),
    [("vhf_low", 4, 1, 10, 27.6), ("vhf_high", 6, 2, 10, 35.6), ("uhf", 10, 4, 7, 40.6)],
)
def test_planning_factors(band, gain_dbd, line_db, noise_figure_db, field_dbuv_m):
    # ISED BPR-10 issue 3, Appendix 8, Table 1, with its C/N of 15.0 dB: the field at which nothing
    # is to spare. The table rounds the dipole factor and the noise to 0.1 dB.
    table = stations(freq_mhz=[BAND[band]], needs_cn_db=15.0)
    site = site_of(table, line_db, noise_figure_db)
    setup = survey.Setup(flat(gain_dbd), "mast", heading_deg=0)
    rows = budget.account(0, setup, site)
    field = rows["value_db"].iloc[:2].sum()
    assert field - rows["running_db"].iloc[-1] == pytest.approx(field_dbuv_m, abs=0.06)


@pytest.mark.parametrize("kind", ["mast", "attic"])
def test_walls_below_the_model_are_noted_indoors_only(kind):
    # Rec. ITU-R P.2109 is for 80 MHz and up; low VHF begins at 54 MHz.
    site = site_of(stations(freq_mhz=[63.0, 605.0]))
    this = budget.link(site, Mount("here", kind, 6.0), chain.Feed("line", ()))
    noted = ["lowest the model knows" in note for note in this.note]
    assert noted == [kind == "attic", False]


@pytest.mark.parametrize(("mhz", "field_dbuv_m"), [(473, 38.72), (605, 40.86)])
def test_uhf_dipole_adjustment(mhz, field_dbuv_m):
    # Dipole factor adjustment Ka = 20 log10(615 / f) of the same table, from the contour of 41 dBuV/m.
    table = stations(freq_mhz=[mhz, 615.0], needs_cn_db=15.0)
    this = budget.link(
        site_of(table), Mount("mast", "mast", 9.1), chain.Feed("line", (chain.pad(4),))
    )
    assert 41 + this.dipole_dbm[1] - this.dipole_dbm[0] == pytest.approx(field_dbuv_m, abs=0.01)


def held_90(distance_km, gain_dbd, erp_kw=1000.0, haat_m=300.0):
    """Spare dB held for 90 % of the time with the plain roof of the planning factors."""
    table = stations(distance_km=np.atleast_1d(distance_km), erp_kw=erp_kw, haat_m=haat_m)
    mount = Mount("mast", "mast", 9.1)
    site = site_of(table)
    this = budget.link(site, mount, site.feed(None))
    return this.margin_db + gain_dbd - this.field.fade_db


def distance_where(spare_db, gain_dbd):
    d = np.arange(20.0, 150.0, 0.1)
    return d[np.argmax(held_90(d, gain_dbd) < spare_db)]


def test_what_follows_for_builders():
    # Derived from the charts of 47 CFR 73.699; common practice, no source, agrees: a plain loop is
    # comfortable to some thirty miles, and beyond sixty only a high-gain aimed antenna hears anything.
    assert distance_where(20, 2) == pytest.approx(57, abs=2)
    assert distance_where(0, 2) == pytest.approx(87, abs=2)
    assert distance_where(20, 7) - distance_where(20, 2) == pytest.approx(7, abs=1.5)
    assert distance_where(0, 7) - distance_where(0, 2) == pytest.approx(9, abs=1.5)
    assert held_90(16, 2, erp_kw=1, haat_m=30)[0] < held_90(65, 2)[0]


def roof_and_room():
    mounts = (
        Mount("mast", "mast", 10),
        Mount("room", "room", 4, trees_m=20),
        Mount("balcony", "balcony", 12, open_from_deg=90, open_to_deg=180),
        Mount("side", "mast", 10, polarization="vertical"),
    )
    table = stations(
        distance_km=[5.0, 40.0, 70.0, 90.0],
        bearing_deg=[10.0, 100.0, 200.0, 350.0],
        freq_mhz=[509.0, 195.0, 605.0, 473.0],
        polarization=["horizontal", "vertical", "both", "horizontal"],
        standard=["ATSC1", "ATSC1", "ATSC1", "ATSC3"],
    )
    antennas = (
        antenna.from_numbers("beam", [470, 608], [7, 9]),
        flat(2).renamed("flat", polarization="vertical"),
    )
    return site_of(table, noise="residential", mounts=mounts, antennas=antennas)


def test_last_row_is_the_survey_margin():
    site = roof_and_room()
    for name, mount, heading in itertools.product(
        ("beam", "flat"), ("mast", "room", "balcony", "side"), (0, 123, 360, None)
    ):
        setup = survey.Setup(name, mount, heading_deg=heading)
        margins = survey.outlook(site, setup)["margin_db"]
        last = [budget.account(i, setup, site)["running_db"].iloc[-1] for i in range(len(margins))]
        assert last == pytest.approx(margins.tolist(), abs=1e-9, nan_ok=True), setup


def test_a_tuner_that_cannot_decode_says_so_before_any_db():
    rows = budget.account(3, survey.Setup("beam", "mast", heading_deg=0), roof_and_room())
    assert len(rows) == 1
    assert "does not decode ATSC3" in rows["why"].iloc[0]


def test_a_standard_without_published_needs_asks_for_a_number():
    site = site_of(stations(standard=["ATSC3"]))
    tuner = chain.Tuner("new set", ("ATSC1", "ATSC3"), 7)
    site = replace(site, tuner=tuner)
    rows = budget.account(0, survey.Setup(flat(2), "mast", heading_deg=0), site)
    assert "needs_cn_db" in rows["why"].iloc[0]


def test_indoors_needs_more_c_n_than_the_roof_where_the_standard_says():
    # Rec. ITU-R BT.2033-2 Table 2, 256-QAM 2/3: Ricean 20.0, Rayleigh 22.1 dB.
    site = site_of(stations(standard=["DVB-T2 256-QAM 2/3"]))
    assert budget.needs_cn_db(site, Mount("m", "mast", 9)).tolist() == [20.0]
    assert budget.needs_cn_db(site, Mount("m", "room", 9)).tolist() == [22.1]


def test_stations_own_need_wins():
    site = site_of(stations(needs_cn_db=[18.0]))
    assert budget.needs_cn_db(site, Mount("m", "mast", 9)).tolist() == [18.0]


def test_walls_follow_the_standard():
    # ITU-R P.2109: 14.00 dB median at 539 MHz in a traditional building, 32.13 in a thermally
    # efficient one; half of the dB in the attic, and metal spares nothing.
    table = stations(freq_mhz=[539.0])
    site = site_of(table)

    def wall(kind, construction="traditional"):
        mount = Mount("m", kind, 5, construction=construction)
        return budget.link(site, mount, site.feed(None)).entry_loss_db[0]

    assert wall("room") == pytest.approx(14.00, abs=0.01)
    assert wall("attic") == pytest.approx(7.00, abs=0.01)
    assert wall("room", "thermally_efficient") == pytest.approx(32.13, abs=0.01)
    assert wall("attic", "metal") == pytest.approx(32.13, abs=0.01)
    assert wall("mast", "metal") == 0


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_reasons_are_words_and_zero_has_no_sign(construction):
    mount = Mount("m", "room", 5, construction=construction, trees_m=10)
    site = site_of(stations(distance_km=[50.0]), mounts=(mount,), antennas=(flat(0),))
    rows = budget.account(0, survey.Setup("flat", mount, heading_deg=0), site)
    assert not rows["why"].str.contains("_").any()
    walls = rows.set_index("term").loc["walls and roof", "why"]
    assert walls.startswith("in a room: ") and walls.endswith(("glass", "walls"))
    others = rows.set_index("term").loc["others on the air", "value_db"]
    assert others == 0 and not np.signbit(others)


def test_a_station_straight_ahead_is_on_the_aim():
    site = site_of(stations(bearing_deg=[0.0]), antennas=(flat(0),))
    setup = survey.Setup("flat", "mast", heading_deg=0)
    why = budget.account(0, setup, site).set_index("term").loc["antenna toward the station", "why"]
    assert why == "flat, station on the aim"


@pytest.mark.parametrize(
    ("low", "high", "inside"), [(350, 20, [True, False, False]), (0, 360, [True] * 3)]
)
def test_open_sector_runs_clockwise_through_north(low, high, inside):
    site = site_of(stations(bearing_deg=[5.0, 100.0, 340.0]))
    mount = Mount("b", "balcony", 9, open_from_deg=low, open_to_deg=high, blocked_loss_db=17)
    loss = budget.link(site, mount, site.feed(None)).blocked_loss_db
    assert (loss == 0).tolist() == inside
    assert set(loss) <= {0.0, 17.0}


def test_places_within_two_kilometres_are_one():
    site = site_of(stations(distance_km=[50.0, 50.5, 51.0, 60.0], bearing_deg=[0.0, 1.0, 2.0, 0.0]))
    index = budget.place_index(site)
    assert index[0] == index[1] == index[2] != index[3]


def test_an_unknown_station_is_named_with_those_there_are():
    with pytest.raises(ValueError, match=r"no station 'tower'; there are s0"):
        budget.account("tower", survey.Setup(flat(1), "mast"), site_of(stations(freq_mhz=[509.0])))


def test_polarization_of_mount_and_antenna():
    site = roof_and_room()
    flat_antenna, beam = site.antenna("flat"), site.antenna("beam")
    loss = budget.polarization_loss_db
    assert loss(site, beam, site.mount("mast")).tolist() == [0, 16, 0, 0]
    assert loss(site, beam, site.mount("side")).tolist() == [16, 0, 0, 16]
    assert loss(site, flat_antenna, site.mount("mast")).tolist() == [16, 0, 0, 16]


# ---- terrain layer ------------------------------------------------------------------------------


def test_a_profile_replaces_average_terrain_where_a_map_covers_the_path():
    with_map = simulate.demo_site(terrain=True)
    without = replace(with_map, tiles=None)
    mount = with_map.mount("roof mast")
    mapped, flat = budget.field_at(with_map, mount), budget.field_at(without, mount)
    by_profile = mapped.layer == "terrain profile"
    assert by_profile.any() and not by_profile.all()
    assert (flat.layer == "average terrain").all()
    assert (mapped.sd_db[by_profile] == 8).all() and (flat.sd_db == 10).all()
    same = mapped.median_dbuv_m == flat.median_dbuv_m
    assert (same == ~by_profile).all()
    assert (mapped.median_dbuv_m <= mapped.free_space_dbuv_m + 0.5).all()


def test_the_profile_layer_is_the_path_module_s_own_answer():
    site = simulate.demo_site(terrain=True)
    i = int(np.argmax(site.stations["station"] == "Gazette"))
    row = site.stations.iloc[[i]]
    ground = earth.profiles(site.place, row, site.tiles, clutter_m=site.clutter_m).path(0)
    alone = path.profile_dbuv_m(
        row["freq_mhz"].item(), row["erp_kw"].item(), ground, row["transmit_agl_m"].item(), 9.0
    )
    mount = replace(site.mount("roof mast"), height_agl_m=9.0)
    assert budget.field_at(site, mount).median_dbuv_m[i] == pytest.approx(alone, abs=1e-6)


def test_a_station_off_the_map_says_which_tile_is_missing():
    site = simulate.demo_site(terrain=True)
    there = budget.field_at(site, site.mount("roof mast"))
    off = site.stations["station"] == "Saltpan"
    assert "leaves the terrain tiles" in there.note[off][0]


def test_both_layers_stand_side_by_side():
    table = budget.layers(simulate.demo_site(terrain=True), "roof mast")
    known = table.dropna()
    assert len(known) > 5
    assert (known["profile_sd_db"] < known["average_sd_db"]).all()
    apart = known["profile_dbuv_m"] - known["average_dbuv_m"]
    assert known["difference_db"].to_numpy() == pytest.approx(apart.to_numpy())


# ---- others -------------------------------------------------------------------------------------


def two_on_a_channel(undesired_kw, bearing_deg):
    table = stations(
        distance_km=[40.0, 120.0],
        bearing_deg=[0.0, bearing_deg],
        erp_kw=[10.0, undesired_kw],
        rf_channel=["20", "20"],
    )
    return site_of(table)


def test_a_station_on_the_same_channel_acts_like_noise():
    # Two routes of our own: the account's row, and the sum of noise and interference by hand. The
    # undesired signal counts at the level it exceeds 10 % of the time, mirrored from the 90 % level.
    site = two_on_a_channel(1000.0, 0.0)
    setup = survey.Setup(flat(6), "mast", heading_deg=0)
    rows = budget.account(0, setup, site).set_index("term")["value_db"]
    mount = site.mount("mast")
    this = budget.link(site, mount, site.feed(None))
    ahead_dbm = this.level_dbm[1] - this.line_gain_db[1] + 6 + this.field.fade_db[1]
    floor_dbm = this.noise_dbm[0] - this.line_gain_db[0]
    risen = 10 * np.log10(10 ** (floor_dbm / 10) + 10 ** (ahead_dbm / 10)) - floor_dbm
    assert risen > 3
    assert rows["others on the air"] == pytest.approx(-risen, abs=1e-6)


def test_the_pattern_holds_the_other_station_off():
    beam = antenna.from_numbers("beam", [470, 608], 8, 40)
    setup = survey.Setup(beam, "mast", heading_deg=0)
    ahead, aside = (
        budget.account(0, setup, two_on_a_channel(1000.0, b))["running_db"].iloc[-1]
        for b in (0, 120)
    )
    assert aside > ahead + 3


def test_sharing_one_transmission_is_no_interference():
    table = stations(distance_km=[40.0, 40.0], place=["hill", "hill"], rf_channel=["20", "20"])
    rows = budget.account(0, survey.Setup(flat(6), "mast", heading_deg=0), site_of(table))
    assert rows.set_index("term").loc["others on the air", "value_db"] == pytest.approx(0)


def test_an_amplifier_near_a_strong_station_is_overdriven():
    table = stations(
        distance_km=[2.0, 60.0],
        erp_kw=[10.0, 1000.0],
        bearing_deg=[0.0, 0.0],
        freq_mhz=[509.0, 515.0],
        rf_channel=["20", "21"],
    )
    site = site_of(table)
    amplifier = chain.amplifier("mast amplifier", 20, 2, input_ip3_dbm=60, max_input_dbm=-40)
    weak = chain.Feed("amplified", (amplifier, *site.feed(None).parts))
    setup = survey.Setup(flat(6), "mast", weak, heading_deg=0)
    rows = budget.account(1, setup, site)
    assert rows["term"].iloc[-1] == "too strong"
    assert "overload mast amplifier" in rows["why"].iloc[-1]
    assert rows["running_db"].iloc[-1] < 0
    assert (
        budget.account(1, survey.Setup(flat(6), "mast", heading_deg=0), site)["running_db"].iloc[-1]
        > 0
    )


def test_an_fm_neighbour_can_hurt_but_is_never_received():
    site = simulate.demo_site()
    fm = site.stations["service"] == "fm"
    table = survey.outlook(site, survey.Setup("wire loop", "roof mast", heading_deg=0))
    assert (table.loc[fm, "chance"] == 0).all()
    loud = site.with_stations(
        site.stations.assign(erp_kw=np.where(fm, 100000.0, site.stations["erp_kw"]))
    )
    worse = survey.outlook(loud, survey.Setup("wire loop", "roof mast", heading_deg=0))
    assert worse["chance"].sum() < table["chance"].sum()


def test_man_made_noise_costs_low_vhf_about_twelve_db():
    # ITU-R P.372 residential, 69 MHz: 21.56 dB; with a noise figure of 10 dB the system stands at 21.83.
    table = stations(freq_mhz=[69.0, 615.0])
    quiet, home = (
        budget.link(site_of(table, 0, 10, noise), Mount("m", "mast", 9), chain.Feed("none", ()))
        for noise in ("none", "residential")
    )
    risen = home.noise_dbm - quiet.noise_dbm
    assert risen.tolist() == pytest.approx([11.83, 0.0], abs=0.01)
