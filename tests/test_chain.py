"""The line from antenna to tuner, against handbook arithmetic, standards and a network library."""

import numpy as np
import pytest
import skrf
from hypothesis import given
from hypothesis import strategies as st

from signalshed import chain, facts, units

TUNER = chain.Tuner("set", ("ATSC1",), 7)
AMP = chain.amplifier("mast amplifier", 16, 2)
LINE = chain.pad(4)


# ---- gain and noise -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parts", "figure_db"),
    [
        # The formula of Friis by hand; the cases are our own, the arithmetic is the handbooks'.
        ([AMP, LINE, TUNER.part], 2.732),
        ([LINE, TUNER.part], 11.0),
        ([LINE, AMP, TUNER.part], 6.268),
        ([AMP, LINE, chain.splitter(2), TUNER.part], 3.556),
        ([chain.pad(0.5), AMP, LINE, TUNER.part], 3.232),
        # Pozar, Microwave Engineering, example 10.2 (arithmetic redone; the page is unchecked).
        ([chain.Part("a", 10, 2), chain.pad(1), chain.Part("mixer", -3, 4)], 2.555),
    ],
)
def test_noise_figure_of_known_lines(parts, figure_db):
    assert chain.cascade(parts, 600).noise_figure_db == pytest.approx(figure_db, abs=0.001)


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 0, 2), (0, 1, 1, 2), (1, 1, 2)])
def test_noise_figure_against_a_network_library(order):
    # scikit-rf cascades noise correlation matrices, another road than the formula of Friis.
    gain_and_figure = [(16, 2), (-4, 4), (0, 7)]
    frequency = skrf.Frequency(600, 600, 1, "MHz")

    def network(gain_db, figure_db):
        s = np.zeros((1, 2, 2), complex)
        s[0, 1, 0] = 10 ** (gain_db / 20)
        part = skrf.Network(frequency=frequency, s=s, z0=75)
        resistance = 75 * (10 ** (figure_db / 10) - 1) / 4
        part.set_noise_a(frequency, nfmin_db=figure_db, gamma_opt=0, rn=resistance)
        return part

    networks = [network(*gain_and_figure[i]) for i in order]
    whole = networks[0]
    for part in networks[1:]:
        whole = whole**part
    ours = chain.cascade([chain.Part("p", *gain_and_figure[i]) for i in order], 600)
    assert ours.noise_figure_db == pytest.approx(10 * np.log10(whole.nf(75))[0], abs=1e-6)
    assert ours.gain_db == pytest.approx(20 * np.log10(abs(whole.s[0, 1, 0])), abs=1e-9)


@given(st.lists(st.floats(0, 30), min_size=1, max_size=6))
def test_passive_parts_are_as_noisy_as_they_are_lossy(losses_db):
    line = chain.cascade([chain.pad(loss) for loss in losses_db], 600)
    assert line.noise_figure_db == pytest.approx(-line.gain_db, abs=1e-9)


@given(st.floats(0, 40), st.floats(0, 30))
def test_more_loss_before_the_amplifier_never_helps(less_db, more_db):
    def figure(loss_db):
        return chain.cascade([chain.pad(loss_db), AMP, TUNER.part], 600).noise_figure_db

    assert figure(less_db + more_db) >= figure(less_db) - 1e-9


def test_an_empty_line_changes_nothing():
    line = chain.cascade([], [69, 600])
    assert line.gain_db == pytest.approx([0, 0])
    assert line.noise_figure_db == pytest.approx([0, 0])


def test_frequencies_keep_their_shape():
    line = chain.cascade([chain.coax("series6", 20), AMP], np.full((3, 4), 600.0))
    assert line.gain_db.shape == line.noise_figure_db.shape == (3, 4)
    assert isinstance(chain.cascade([AMP], 600).gain_db, float)


# ---- parts --------------------------------------------------------------------------------------


def test_cable_at_the_data_sheet_points():
    # An 18 AWG foam 75 ohm drop cable: 3.24 dB/100 ft at 270 MHz, 6.54 at 1000 MHz.
    cable = chain.coax("series6", 100 * units.M_PER_FOOT)
    assert cable.gain_at_db([270, 1000]) == pytest.approx([-3.24, -6.54], abs=0.002)


def test_cable_against_typical_figures_of_a_supplier():
    # A cable supplier's help page, typical Series 6, dB/100 ft: RF 2 1.5, 13 3.0, 14 4.5, 51 5.6,
    # 950 MHz 6.4. Other cables of the same size differ by a few tenths.
    cable = chain.coax("series6", 100 * units.M_PER_FOOT)
    freq_mhz = [57, 213, 473, 695, 950]
    assert -cable.gain_at_db(freq_mhz) == pytest.approx([1.5, 3.0, 4.5, 5.6, 6.4], abs=0.3)


@given(st.floats(50, 1000), st.floats(1, 950), st.sampled_from(["series6", "series11", "series59"]))
def test_cable_loses_more_the_longer_and_the_higher(freq_mhz, more_mhz, kind):
    short, long = chain.coax(kind, 10), chain.coax(kind, 20)
    assert long.gain_at_db(freq_mhz) == pytest.approx(2 * short.gain_at_db(freq_mhz))
    assert short.gain_at_db(freq_mhz + more_mhz) < short.gain_at_db(freq_mhz) < 0


def test_thicker_cable_loses_less():
    loss = [-chain.coax(kind, 30).gain_at_db(600) for kind in ("series11", "series6", "series59")]
    assert loss == sorted(loss)


def test_cable_by_its_trade_name():
    assert chain.coax("RG-6", 10) == chain.coax("series6", 10)


@pytest.mark.parametrize("ways", [2, 3, 4, 8])
def test_splitters_lose_what_sharing_costs_and_a_little_more(ways):
    row = facts.table("splitters").set_index("ways").loc[ways]
    assert row.ideal_db == pytest.approx(10 * np.log10(ways), abs=1e-4)
    assert 0.3 < row.practical_db - row.ideal_db < 2.1
    assert chain.splitter(ways).gain_at_db(600) == -row.practical_db


def test_the_intercept_point_from_a_data_sheet_and_back():
    ip3 = chain.ip3_from_output(105, 16)
    level_in = units.dbm_from_dbuv(105) - 16
    # By the definition of the intercept point products lie at 3 P - 2 IIP3.
    assert 3 * level_in - 2 * ip3 == pytest.approx(level_in - 60)


def test_a_gain_may_depend_on_frequency():
    tilted = chain.amplifier("sloped", lambda freq_mhz: 10 + freq_mhz / 100, 3)
    assert chain.cascade([tilted], [100, 600]).gain_db == pytest.approx([11, 16])


def test_feeds_without_supply_and_without_amplifiers():
    feed = chain.Feed("mast", (AMP, LINE))
    assert feed.amplifiers == ("mast amplifier",)
    assert feed.line(600).gain_db == pytest.approx(12)
    assert feed.without_amplifiers().line(600).gain_db == pytest.approx(-4)
    off = feed.unpowered()
    assert off.amplifiers == ()
    assert off.line(600).gain_db == pytest.approx(-24)
    assert off.line(600).noise_figure_db == pytest.approx(24)


def test_things_compare_by_what_they_are():
    assert chain.Feed("a", (chain.coax("series6", 9),)) == chain.Feed("a", (chain.coax("rg6", 9),))
    assert len({chain.coax("series6", 9), chain.coax("series6", 9)}) == 1


@pytest.mark.parametrize(
    ("standard", "yes"),
    [("DVB-T2", True), ("DVB-T2 256-QAM 2/3", True), ("DVB-T", False), ("ATSC1", False)],
)
def test_what_a_tuner_decodes(standard, yes):
    assert chain.Tuner("set", ("DVB-T2",), 6).decodes(standard) is yes


# ---- noise --------------------------------------------------------------------------------------


def test_thermal_noise():
    # ISED BPR-10 Appendix 8: -106.2 dBm in 6 MHz. 7.61 MHz: -129.16 dBW with a noise figure of 6.
    assert chain.thermal_noise_dbm(6) == pytest.approx(-106.2, abs=0.05)
    assert chain.thermal_noise_dbm(7.61) + 6 - 30 == pytest.approx(-129.16, abs=0.01)


@pytest.mark.parametrize("environment", chain.ENVIRONMENTS)
def test_noise_from_outside_ends_with_its_formula(environment):
    freq_mhz = np.array([0.3, 54, 88, 174, 216, 250, 250.1, 473, 700])
    silent = chain.Tuner("set", ("ATSC1",), 0).part
    got = chain.system_noise_figure_db([silent], freq_mhz, environment)
    assert (got >= 0).all() and (got[freq_mhz > 250] == 0).all() and (np.diff(got) <= 0).all()
    assert np.isneginf(chain.outside_noise_db(freq_mhz[freq_mhz > 250], environment)).all()


def test_the_residential_system_at_low_vhf():
    # P.372 with a noise figure of 10 dB at 69 MHz: 143.2 man-made, 9.35 galactic, 10 of its own, less
    # one: 161.6, 22.08 dB, so the tuner's own hardly matters.
    ten = chain.Tuner("set", ("ATSC1",), 10).part
    quiet = chain.Tuner("set", ("ATSC1",), 3).part
    figure = chain.system_noise_figure_db([ten], 69, "residential")
    assert figure == pytest.approx(22.08, abs=0.01)
    assert figure - chain.system_noise_figure_db([quiet], 69, "residential") < 0.3
    assert chain.system_noise_figure_db([ten], 615, "residential") == pytest.approx(10)


@pytest.mark.parametrize(
    ("loss_db", "figure_db", "freq_mhz", "cost_db"),
    # Receiver of the planning table (ISED BPR-10 Appendix 8) in a residential area, galaxy included
    # (P.372): outside 9.04 at 194 MHz, 152.6 at 69.
    [(4, 7, 615, 10.0), (2, 10, 194, 8.4), (1, 10, 69, 2.3)],
)
def test_what_a_pad_really_costs(loss_db, figure_db, freq_mhz, cost_db):
    feed = chain.Feed("line", (chain.pad(loss_db),))
    tuner = chain.Tuner("set", ("ATSC1",), figure_db)
    for pad_at in ("antenna", "set"):
        cost = chain.pad_cost_db(
            10, feed, tuner, freq_mhz, pad_at=pad_at, environment="residential"
        )
        assert cost == pytest.approx(cost_db, abs=0.05)


def test_a_pad_behind_a_mast_amplifier():
    feed = chain.Feed("mast", (AMP, LINE))
    assert chain.pad_cost_db(10, feed, TUNER, 600) == pytest.approx(4.0, abs=0.05)
    assert chain.pad_cost_db(10, feed, TUNER, 600, pad_at="antenna") == pytest.approx(10)


@given(st.floats(0, 30), st.floats(30, 900), st.sampled_from(chain.ENVIRONMENTS))
def test_a_pad_costs_no_more_than_its_label(pad_db, freq_mhz, environment):
    feed = chain.Feed("mast", (AMP, LINE))
    cost = chain.pad_cost_db(pad_db, feed, TUNER, freq_mhz, environment=environment)
    assert -1e-9 <= cost <= pad_db + 1e-9


# ---- what a standard needs ----------------------------------------------------------------------


def _needs(standard):
    return facts.table("standards").set_index("standard").loc[standard]


@pytest.mark.parametrize(
    ("standard", "gaussian", "ricean", "rayleigh"),
    # Rec. ITU-R BT.2033-2 Table 2, one row of each constellation.
    [
        ("DVB-T2 QPSK 1/2", 2.4, 2.6, 3.4),
        ("DVB-T2 16-QAM 3/4", 11.4, 11.8, 13.9),
        ("DVB-T2 64-QAM 3/5", 13.8, 14.1, 15.8),
        ("DVB-T2 256-QAM 2/3", 19.7, 20.0, 22.1),
        ("DVB-T2 256-QAM 5/6", 23.9, 24.4, 28.0),
    ],
)
def test_dvb_t2_needs(standard, gaussian, ricean, rayleigh):
    row = _needs(standard)
    got = row[["needs_cn_gaussian_db", "needs_cn_ricean_db", "needs_cn_rayleigh_db"]]
    assert list(got) == [gaussian, ricean, rayleigh]
    assert row.status == "published"


def test_the_needs_of_other_standards():
    # ATSC A/74: 15.2 dB; ETSI EN 300 744 Annex A, Gaussian: 64-QAM 2/3 16.5, QPSK 1/2 3.1 dB.
    assert _needs("ATSC1").needs_cn_gaussian_db == 15.2
    assert _needs("DVB-T 64-QAM 2/3").needs_cn_gaussian_db == 16.5
    assert _needs("DVB-T QPSK 1/2").needs_cn_gaussian_db == 3.1
    assert np.isnan(_needs("ATSC3").needs_cn_gaussian_db)


def test_worse_channels_and_weaker_codes_need_more():
    table = facts.table("standards")
    columns = ["needs_cn_gaussian_db", "needs_cn_ricean_db", "needs_cn_rayleigh_db"]
    all_three = table.dropna(subset=columns)
    assert (np.diff(all_three[columns], axis=1) > 0).all()
    modes = table[table.standard.str.contains("/")]
    groups = modes.groupby(modes.standard.str.rsplit(n=1).str[0], sort=False)
    assert groups.needs_cn_gaussian_db.apply(lambda s: s.is_monotonic_increasing).all()


def test_every_number_of_a_standard_has_a_standing():
    table = facts.table("standards")
    for kind in ("gaussian", "ricean", "rayleigh"):
        known = table[f"needs_cn_{kind}_db"].notna()
        assert (table[f"{kind}_status"].notna() == known).all()


# ---- overload -----------------------------------------------------------------------------------


def test_third_order_products_against_a_simulated_nonlinearity():
    # y = x - x |x|^2 / IIP3 on two noise-like channels; the spectrum of what is new is measured.
    rng = np.random.default_rng(7)
    count, level_mw, ip3_dbm = 1 << 18, 0.01, 0.0
    freq = np.fft.fftfreq(count, 1 / 200.0)
    spectrum = np.zeros(count, complex)
    for centre in (-6.0, 6.0):
        inside = abs(freq - centre) <= 3
        noise = rng.normal(size=(2, inside.sum())).T @ [1, 1j]
        spectrum[inside] = noise * np.sqrt(level_mw / (abs(noise) ** 2).sum())
    x = np.fft.ifft(spectrum) * count
    made = np.fft.fft(x * abs(x) ** 2) / count
    wanted = np.array([-18.0, -12.0, 0.0, 12.0, 18.0])
    simulated = [10 * np.log10((abs(made[abs(freq - f) <= 3]) ** 2).sum()) for f in wanted]

    level = np.array([10 * np.log10(level_mw)] * 2 + [-np.inf] * 5)
    all_freq = 600 + np.concatenate([[-6.0, 6.0], wanted])
    part = chain.Part("device", 0, 3, ip3_dbm)
    ours = chain.load([part], all_freq, level).product_dbm[2:]
    assert ours == pytest.approx(np.array(simulated), abs=0.3)


def test_second_order_against_a_simulated_square():
    # y = a x^2, of which two steady carriers of power P make P^2 / IIP2 at sum and difference each, so
    # a^2 = 1 / (2 IIP2); on two noise-like channels at 90 and 100.5 MHz. IIP2 is 1 mW.
    rng, count, level_mw = np.random.default_rng(8), 1 << 20, np.array([0.01, 0.04])
    freq = np.fft.rfftfreq(count, 1 / 1000.0)
    x = np.zeros(count)
    for centre, mw in zip((90.0, 100.5), level_mw, strict=True):
        inside = abs(freq - centre) <= 3
        spectrum = np.zeros(freq.size, complex)
        spectrum[inside] = rng.normal(size=(2, inside.sum())).T @ [1, 1j]
        wave = np.fft.irfft(spectrum)
        x += wave * np.sqrt(mw / (wave**2).mean())
    made = np.fft.rfft(x**2 / np.sqrt(2)) / count
    wanted = np.array([10.5, 177.0, 183.0, 189.0, 195.0, 201.0])
    simulated = [2 * (abs(made[abs(freq - f) <= 3]) ** 2).sum() for f in wanted]

    both = np.append([90.0, 100.5], wanted)
    mixing = chain.Mixing(both, 6.0 + np.zeros(8), both != 0)
    ours = mixing.mw(np.append(level_mw, np.zeros(6)))[2:]
    assert 10 * np.log10(ours / simulated) == pytest.approx(np.zeros(6), abs=0.3)


def test_an_intercept_behind_gain_counts_by_that_gain_less():
    # By hand, in mW: 1 / (1 / 1000 + 10 / 10), 10 dB of gain before 10 dBm: 0.004 dB below 0 dBm.
    first, second = chain.amplifier("first", 10, 2, 30.0), chain.amplifier("second", 5, 2, 10.0)
    found = chain.cascade((first, second), 500.0).input_ip3_dbm
    assert found == pytest.approx(-0.0043, abs=1e-4)


def test_second_order_of_narrow_signals_by_hand():
    # Into 192 to 198: 95.5 + 99.5, 2; 95.5 + 97.5, 4; 97.5 + 99.5, 8; 97.5 doubled, half of 16: 22.
    # Into 589 to 595: of 694.0 only 694.0 - 99.5 = 594.5, 6. Definition: P2 = 2 P - IIP2.
    freq, wanted = np.array([95.5, 99.5, 97.5, 694.0, 195.0, 592.0]), [False] * 4 + [True] * 2
    mixing = chain.Mixing(freq, [0.2] * 4 + [6.0] * 2, wanted)
    assert mixing.mw([1.0, 2.0, 4.0, 3.0, 0, 0])[4:].tolist() == pytest.approx([22.0, 6.0])
    # A tuner's stop of FM is among the gains before it; of what else is far away it stops 20 dB too.
    assert mixing.mw([1.0, 2.0, 4.0, 3.0, 0, 0], tuned=True)[4:] == pytest.approx([22.0, 0.06])
    assert mixing.loudest([1.0, 2.0, 4.0, 3.0, 0, 0], 5, tuned=True)[1] == (3, 1)


def test_products_of_two_narrow_carriers_follow_the_textbook():
    # Twice the textbook power, 3 P - 2 IIP3, since a noise-like carrier's square fluctuates: 3 dB more.
    part = chain.Part("device", 0, 3, 0.0)
    load = chain.load([part], [600.5, 604.5, 608.5], [-30, -30, -np.inf], 1e-3)
    whole_cell = load.product_dbm[2] + 30
    assert whole_cell == pytest.approx(3 * -30 - 2 * 0 + 3.01, abs=0.01)


def test_products_rise_three_for_one_and_a_pad_helps_by_two():
    freq, level = [473, 479, 485, 575], np.array([-25.0, -30, -60, -35])
    amp = chain.amplifier("amp", 16, 2, input_ip3_dbm=5)
    base = chain.load([amp], freq, level).product_dbm
    assert chain.load([amp], freq, level + 1).product_dbm - base == pytest.approx(np.full(4, 3.0))
    behind_pad = chain.load([chain.pad(6), amp], freq, level).product_dbm
    assert behind_pad - base == pytest.approx(np.full(4, -12.0))


def test_total_power_against_the_limits():
    amp = chain.amplifier("amp", 20, 2, max_input_dbm=-25)
    tuner = chain.Tuner("set", ("ATSC1",), 7)
    two = chain.load([amp, tuner.part], [473, 485], [-33.0103, -33.0103])
    assert two.headroom_db == pytest.approx(2, abs=1e-3)
    assert two.tightest == "set"
    pad_first = chain.load([amp, chain.pad(10), tuner.part], [473, 485], [-33.0103, -33.0103])
    assert (pad_first.headroom_db, pad_first.tightest) == (pytest.approx(5, abs=1e-3), "amp")


def test_a_stop_filter_keeps_a_neighbour_out():
    freq, level = np.array([98.0, 104.0, 177.0]), np.array([-15.0, -15.0, -70.0])
    amp = chain.amplifier("amp", 16, 2, input_ip3_dbm=5, max_input_dbm=-20)
    trap = chain.stop_filter("FM filter", 88, 108)
    bare = chain.load([amp], freq, level, [0.2, 0.2, 6])
    filtered = chain.load([trap, amp], freq, level, [0.2, 0.2, 6])
    assert bare.headroom_db < 0 < filtered.headroom_db
    assert filtered.headroom_db - bare.headroom_db == pytest.approx(20, abs=0.01)


def test_many_headings_at_once_equal_one_by_one():
    rng = np.random.default_rng(3)
    freq = 473 + 6.0 * np.arange(12)
    level = rng.uniform(-70, -20, (3, 5, 12))
    parts = [chain.coax("series6", 5), chain.amplifier("a", 16, 2, 5, -20), TUNER.part]
    together = chain.load(parts, freq, level)
    alone = chain.load(parts, freq, level[2, 4])
    assert together.headroom_db.shape == (3, 5) and together.product_dbm.shape == level.shape
    assert together.headroom_db[2, 4] == pytest.approx(alone.headroom_db)
    assert together.product_dbm[2, 4] == pytest.approx(alone.product_dbm, abs=1e-6)
    assert together.tightest[2, 4] == alone.tightest


def test_nothing_on_the_air_overloads_nothing():
    load = chain.load([TUNER.part], [473, 479], [-np.inf, -np.inf])
    assert load.headroom_db > 200
    assert (load.product_dbm == -np.inf).all()
    assert chain.load([chain.pad(3)], [473], [0.0]).headroom_db == np.inf


# ---- bad input ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: chain.coax("thick", 3), "series6, series11, series59"),
        (lambda: chain.coax("series6", -1), "length_m is -1"),
        (lambda: chain.pad(-3), "loss_db is -3"),
        (lambda: chain.pad("much"), "loss_db is 'much'"),
        (lambda: chain.splitter(5), "2, 3, 4, 8"),
        (lambda: chain.stop_filter("f", 108, 88), "high_mhz is 88"),
        (lambda: chain.Part("a", np.nan), "gain_db of a"),
        (lambda: chain.cascade([chain.Part("a", 3)], 600), "needs one"),
        (lambda: chain.amplifier("a", 16, None), "noise_figure_db"),
        (lambda: chain.Tuner("t", ("PAL",), 7), "ATSC1, ATSC3, DVB-T"),
        (lambda: TUNER.decodes("PAL"), "standard is 'PAL'"),
        (lambda: chain.Feed("f").with_pad(3, "roof"), "antenna or set"),
        (lambda: chain.cascade([AMP], 0), "freq_mhz is 0"),
        (lambda: chain.thermal_noise_dbm(0), "bandwidth_mhz is 0"),
        (lambda: chain.system_noise([AMP], 69, "moon"), "none, quiet_rural, rural"),
        (lambda: chain.load([AMP], [473, 479], [-30.0]), "as long as freq_mhz"),
        (lambda: chain.load([AMP], [473], [np.nan]), "level_dbm must be numbers"),
    ],
)
def test_bad_input_is_named(call, says):
    with pytest.raises(ValueError, match=says):
        call()
