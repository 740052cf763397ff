"""The page of one trial, its still, and one evening all the way from the plan to the page."""

import shutil
import struct
from pathlib import Path

import pandas as pd
import pytest
from bad_trials import BadWorld, bad_trial
from live_trial import LiveTrial, read_visit

from signalshed import antenna, plots, report, simulate, site, trials
from signalshed.meters import MeterCurve
from signalshed.simulate.trial import TrialWorld

DEMO = Path(__file__).resolve().parents[1] / "demo_data"


@pytest.fixture(scope="module")
def found():
    trial = simulate.invented_trial(1, TrialWorld(antennas=2, channels=4))
    return trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))


def test_the_page_holds_every_part_and_the_numbers_of_the_study(found, tmp_path):
    cards = [antenna.plain_dipole().renamed("<b>dipole</b>")]
    path = report.write_trial(
        found, tmp_path / "trial.html", antennas=cards, conditions="dry & calm", date="2031-05-03"
    )
    text = path.read_text(encoding="utf-8")
    for part in ("The question", "Conditions", "Difference by channel", "percents would have claimed",
                 "The antennas", "What this trial cannot tell", "Mind"):  # fmt: skip
        assert part in text, part
    assert "dry &amp; calm" in text and "<b>dipole" not in text and "2031-05-03" in text
    for row in found.table.itertuples():
        sign = "\N{MINUS SIGN}" if row.difference_db < -0.05 else ""
        assert f"{sign}{abs(row.difference_db):.1f}</td>" in text
    assert "never hurry" in text and "licensed practice decide" in text
    assert "second meter ladder" in text, "a stretched dB is seen by no trial"
    assert "http:" not in text and "https:" not in text and "<script" not in text


def test_what_does_not_fit_stands_on_the_page():
    world = BadWorld(antennas=1, channels=4, noted_in=10.0)
    trial = bad_trial(2, world)
    found = trials.study(trial.readings, trial.baseline, MeterCurve.fit(trial.ladder))
    text = report.trial.trial_page(found)
    assert "What does not fit" in text and "in steps of 10" in text


def test_the_still_is_sixteen_to_nine_and_says_one_thing(found, tmp_path):
    report.write_trial(found, tmp_path / "t.html", still=tmp_path / "still.png")
    png = (tmp_path / "still.png").read_bytes()
    assert struct.unpack(">II", png[16:24]) == (1920, 1080)  # the PNG header, ISO/IEC 15948
    words = plots.finding_words(found)
    picture = plots.finding(found).figure
    box = picture._suptitle.get_window_extent(picture.canvas.get_renderer())
    assert box.x0 >= 0 and box.x1 <= picture.bbox.width, "the finding is not cut"
    assert len(words) <= 120 and words in plots.finding(found).alt
    with pytest.raises(ValueError, match=r"must end in \.png"):
        plots.finding(found).save(tmp_path / "still.gif")


def test_other_things_are_refused_in_words(found, tmp_path):
    with pytest.raises(ValueError, match=r"must end in \.html"):
        report.write_trial(found, tmp_path / "trial.txt")
    for wrong in ({"comparison": found.table}, {"comparison": found, "antennas": ["loop"]}):
        with pytest.raises(ValueError, match=r"(antennas|comparison) is"):
            report.trial.trial_page(**wrong)


def test_an_evening_all_the_way_from_the_plan_to_the_page(tmp_path):
    """Planned for two hours, read through a source, stopped early, pooled with two older trials, put
    into a folder, shown as a page."""
    stations = pd.DataFrame(
        {"rf_channel": ["17", "19", "21", "24"], "margin_db": [8.0, 12, 14, 11]}
    )
    name = "double loop with screen"
    laid = trials.plan([name], stations, hours=2, swap_minutes=3, start="18:30", dusk="21:15")
    assert laid.hours <= 2 and laid.stop_by == "20:30" and len(laid.looks) > 1
    live = LiveTrial(laid, 1, TrialWorld(antenna_sd_db=6.0, wild_share=0.0), slow=0.4)
    curve, log, minute = MeterCurve.fit(live.ladder), None, iter(range(10_000))

    def now():
        at = next(minute)
        return f"2031-05-03T{18 + at // 60:02d}:{at % 60:02d}:00+00:00"

    while True:
        rows = read_visit(
            laid,
            log,
            live.source_of,
            every_s=0,
            now=now,
            mount="low mast",
            meter="TV",
            scale="quality",
        )
        assert len(rows), "the last look ends it"
        log = rows if log is None else pd.concat([log, rows], ignore_index=True)
        if (log["antenna"] == name).sum() < 3 * len(rows) or log["antenna"].iloc[-1] != name:
            continue
        found = trials.study(log, laid.baseline, curve, plan=laid)
        if found.may_stop:
            break
    truth = live.truth_db.loc[name].mean()
    assert found.may_stop.look < found.may_stop.looks, "stopped early"
    assert found.may_stop.low_db < truth < found.may_stop.high_db
    mine = trials.club_rows(found, "Ines", date="2031-05-03", revision="1")
    older = mine.assign(maker=["Olu"], difference_db=mine["difference_db"] + 0.8)
    club = trials.pooled(pd.concat([mine, older, older.assign(maker="Mia")], ignore_index=True))
    assert club.table.iloc[0]["makers"] == 3 and club.table.iloc[0]["next_low_db"] < truth
    shutil.copytree(DEMO / "town", tmp_path / "town")
    folder = Path(shutil.copytree(DEMO / "trial_yard", tmp_path / "yard"))
    flat = antenna.plain_dipole()
    line = trials.write_gains(folder / "trial_gains.csv", found.table, flat).splitlines()[1]
    toml = (folder / "antennas.toml").read_text(encoding="utf-8")
    toml = toml.replace(f'name = "{name}"\n', f'name = "{name}"\n{line}\n')
    (folder / "antennas.toml").write_text(toml, encoding="utf-8")
    mine = site.open_site(folder).antenna(name)
    row = found.table[found.table["readings"] > 0].iloc[0]
    assert mine.gain_dbd(row["freq_mhz"]) == pytest.approx(row["difference_db"], abs=0.01)
    path = report.write_trial(
        found, tmp_path / "page.html", antennas=[mine], still=tmp_path / "s.png"
    )
    text = path.read_text(encoding="utf-8")
    assert "You may stop" in text and "Stop by 20:30" in text and name in text
