"""What lesson 07 computes beside its panels: advice compared, and what readings bring on average."""

from dataclasses import replace

import pytest

from signalshed import advice, simulate, survey
from signalshed.classroom import cards, lesson_07


def test_the_librarys_own_pick_is_told_to_be_the_same_advice():
    site = simulate.demo_site("balcony")
    best = lesson_07.asking._ranking(site).iloc[0]
    told = lesson_07.compare({"balcony": (best["antenna"], best["mount"])}).text
    assert told.endswith("the same advice")


@pytest.mark.parametrize(
    ("asker", "advice", "told"),
    [
        ("camper", ("dish", "camper roof"), "There is no antenna 'dish' at this site"),
        ("camper", ("wire loop", "<b>"), "There is no mount '<b>' at this site"),
        ("attic", ("VHF three-element Yagi", "under the tiles"), "better on 0, worse on 9"),
    ],
)
def test_advice_is_answered_in_words_whatever_it_names(asker, advice, told):
    card = lesson_07.compare({asker: advice})
    assert told in card.text and "<b>" not in card.html


def test_the_strangers_are_answered_in_one_call(tmp_path):
    town = simulate.demo.FOLDER / "town"
    told = lesson_07.roofs_card(advice.many_roofs(lesson_07.strangers(tmp_path, town))).text
    rows = told.splitlines()[1:]
    assert [row.split(" | ")[0] for row in rows] == list(lesson_07.asking.STRANGERS)
    assert all("5.1: " in row and "of 14" in row for row in rows)
    assert lesson_07.compare({}).text.endswith("all six wait for it.")


def test_an_asker_nobody_knows_is_refused_with_the_names_there_are():
    with pytest.raises(ValueError, match="there are balcony, attic"):
        lesson_07.compare({"castle": ("wire loop", "tower")})


def test_a_place_where_an_antenna_may_not_live_is_said():
    site = simulate.demo_site("suburb")
    lonely = {k: a.renamed(k, lives=("boat",)) for k, a in site.antennas.items()}
    told = lesson_07.asking._compared(
        replace(site, antennas={**lonely, "wire loop": site.antenna("wire loop")}),
        "suburb",
        "eight-element Yagi",
        "chimney",
    )
    assert str(told[-1]).startswith("the list of antennas does not let it live there")


def test_every_asker_has_a_question_and_a_strip():
    assert len(lesson_07.questions().text.splitlines()) == 1 + len(lesson_07.ASKERS)
    panel = lesson_07.askers_panel()
    for asker in lesson_07.ASKERS:
        panel.set(asker=asker, place=3)
        assert panel.trouble == "" and panel.verdict.startswith(f"{asker}, place ")
        station = simulate.demo_site(asker).stations["station"].iloc[0]
        assert station in panel.alt


def test_readings_narrow_the_bars_and_the_truth_is_shown_only_when_asked():
    panel = lesson_07.readings_panel()
    panel.set(count=0)
    assert panel.verdict.startswith("0 readings") and "true" not in panel.verdict
    panel.set(count=11, truth=True)
    before, after = (float(w) for w in panel.verdict.split(" goes from ")[1].split()[:3:2])
    assert after < before and "What was true lies inside the bar" in panel.verdict


def test_a_site_without_readings_is_told_so():
    with pytest.raises(ValueError, match="no readings yet"):
        lesson_07.readings_panel(simulate.demo_site())


def test_six_readings_bring_the_error_down_for_every_antenna():
    # Our own simulation, fixed seeds: no outside source.
    table = lesson_07.experiment(sites=6, readings=6).set_index("known")
    before, after = table.loc["the lists alone"], table.loc["and readings"]
    assert after["error_db"] ** 2 < 0.8 * before["error_db"] ** 2
    assert after["brier"] < before["brier"]
    assert (table["lost"] >= 0).all()
    assert table.loc["and both", "lost"] <= before["lost"]


def test_cards_show_markup_as_it_is_and_the_compass_only_with_a_date():
    site = simulate.demo_site()
    names = site.stations["station"].replace("Gazette", "<script>")
    site = site.with_stations(site.stations.assign(station=names))
    setup = survey.Setup("wire loop", "roof mast", heading_deg=38.0)
    table = cards.station_table(site, setup)
    assert "<script>" not in table.html and "&lt;script&gt;" in table.html
    assert "Quorrel Ridge: 38° (north-east), 48 km (30 mi)" in table.text
    assert "by the compass" not in table.text
    assert "by the compass" in cards.station_table(site, setup, date="2026-05-16").text
    assert "by the compass" in cards.aim_card(site, setup, date="2026-05-16").text
    assert "by the compass" not in cards.aim_card(site, setup).text


def test_one_sentence_moves_the_answer_more_than_another_antenna_and_hides_until_guessed():
    panel = lesson_07.sentence_panel()
    assert "moves the answer by" not in panel.verdict + panel.alt
    blank = panel.png
    panel.place("the antenna")
    assert panel.png != blank and panel.words.finding.startswith(
        "You said the antenna; the sentence"
    )
    town = str(simulate.demo.FOLDER / "town")
    for wrote in lesson_07.sentence.SENTENCES:
        (_, before), (mine, best) = lesson_07.answers(wrote, town)
        assert best >= mine - 0.05, "the best antenna brings no less"
        assert abs(best - before) > best - mine, "the sentence moves more"
    least, _, most = (lesson_07.answers(w, town)[1][1] for w in lesson_07.sentence.SENTENCES)
    assert most > least, "who gets more is promised more"
