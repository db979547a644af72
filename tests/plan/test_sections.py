"""What the sections say, held against the run, the studies and the files they tell of."""

from __future__ import annotations

import datetime as dt
import hashlib
import html
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.ledger import closing_error
from holdwater.plan import ahead, buying, checks, droughts, tabled, water, whatifs
from holdwater.plan.buying import FACTORS, resized
from holdwater.plan.droughts import cut
from holdwater.plan.section import Matter
from holdwater.scenario import load, tables
from holdwater.scenario.tables import growing
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.site.cautions import GENERAL
from holdwater.site.checks import Verdict
from holdwater.studies.droughts import dry_droughts
from holdwater.studies.engine import Site
from holdwater.studies.gauges import read_held
from holdwater.studies.odds import by_date
from holdwater.studies.outlook import outlook
from holdwater.studies.purchase import next_purchases
from holdwater.tanks import vessel
from tests.plan.conftest import ON, Plan, made
from tests.plan.holdings import BARE, EVERYTHING, SITE
from tests.plan.told import plain, rows


def without(text: str, *parts: str) -> str:
    """A scenario without some of its tables, each named by its first lines."""
    for part in parts:
        found = re.search(rf"\[\[{part}\n.*?(?=\n\[|\Z)", text, re.S)
        assert found, part
        text = text.replace(found[0] + "\n", "").replace(found[0], "")
    return text


def test_a_section_is_cut_behind_its_first_figure(everything: Plan) -> None:
    for section in everything.sections.values():
        assert section.opening + section.rest == section.html
    assert everything.sections["sizes"].opening.count("<figure") == 1
    assert everything.sections["sizes"].opening.endswith("</figure>")
    assert everything.sections["worst"].opening == ""


def test_the_verdict_and_its_numbers_are_those_of_the_run(everything: Plan) -> None:
    scores, front = everything.matter.scores, plain(everything.sections["front"])
    assert scores.dry_days.total > 0
    assert f"Hillside would have run dry on {scores.dry_days.total:,} days in 4 years" in front
    assert f"dry days in 4 years {scores.dry_days.total:,}" in front
    assert f"days unserved, backup counted {scores.unserved_days:,}" in front
    assert f"in {scores.loads} loads, cost {scores.cost:,.0f}" in front
    assert front.count("Held back by") == 1
    for caution in (GENERAL[0], GENERAL[-1]):
        assert caution in front


def test_the_years_table_adds_up_to_the_run(everything: Plan) -> None:
    scores, section = everything.matter.scores, everything.sections["years"]
    found = rows(section, "numbers-table")
    assert [row[0] for row in found] == ["2017", "2018", "2019", "2020"]
    assert sum(int(row[8]) for row in found) == scores.dry_days.total
    asked = sum(float(row[3].replace(",", "")) for row in found)
    assert asked == pytest.approx(scores.totals_L["asked"] / 3.785411784, abs=3)
    driest = max(scores.years, key=lambda year: year.dry_days)
    assert next(row for row in found if row[0] == str(driest.year))[-1] == "1"
    assert section.html.count('<tr class="dry">') == sum(year.dry_days > 0 for year in scores.years)


def test_part_of_a_run_closes_and_says_what_the_whole_says(everything: Plan) -> None:
    ledger = everything.matter.ledger
    part = cut(ledger, dt.date(2018, 6, 1), dt.date(2019, 5, 31))
    start = int((np.datetime64("2018-06-01") - ledger.days[0]).astype(int))
    assert part.days.size == 365
    assert closing_error(part) < 1e-9
    assert score(part).dry_day.tolist() == everything.matter.scores.dry_day[start : start + 365].tolist()
    assert part.flux("storage").tolist() == ledger.flux("storage")[:, start : start + 366].tolist()
    assert (part.record.first, part.record.last) == (dt.date(2018, 6, 1), dt.date(2019, 5, 31))


def test_droughts_are_ranked_and_last_years_are_its_own(everything: Plan) -> None:
    found = dry_droughts(everything.matter.ledger, everything.matter.scores)
    named = rows(everything.sections["worst"], "numbers-table")
    assert [row[0] for row in named] == [str(n) for n in range(1, min(len(found), 10) + 1)]
    mine = [d for d in found if d.last.year == 2020]
    last = rows(everything.sections["last-year"], "numbers-table")
    assert sorted(row[0] for row in last) == sorted(str(d.rank) for d in mine)
    assert "How was last year (2020)?" in everything.html


def test_last_year_is_held_against_the_years_before(everything: Plan) -> None:
    years = everything.matter.scores.years
    mean = np.mean([year.rain_mm for year in years[:-1]])
    said = plain(everything.sections["last-year"])
    assert f"{100 * years[-1].rain_mm / mean:.0f} % of the mean of the years before" in said
    assert f"{years[-1].dry_days} dry days, {years[-1].unserved_days} days unserved" in said


def test_both_sides_of_the_water_are_equal(everything: Plan) -> None:
    found = rows(everything.sections["water"], "words")
    sides = {"came in": 0.0, "went": 0.0}
    for side, _, amount, _ in found:
        sides[side] += float(amount.removesuffix(" gal").replace(",", ""))
    assert sides["came in"] == pytest.approx(sides["went"], abs=len(found))
    assert {"house", "hens", "tomatoes", "overflow", "evaporation"} <= {row[1] for row in found}


def test_offers_say_what_a_run_of_each_says(everything: Plan) -> None:
    matter = everything.matter
    found = {row[0]: row for row in rows(everything.sections["next"], "numbers-table offers")}
    file = load(matter.file.path, variant="bigger roof")
    scores = score(simulate(file.scenario, matter.ledger.record))
    row = found["bigger roof"]
    assert row[2] == f"{scores.dry_days.total:,}"
    years = matter.ledger.days.size / 365.25
    assert row[3] == f"{(matter.scores.dry_days.total - scores.dry_days.total) / years:.1f}"
    assert row[1] == "not given"
    assert found["one more tank like upper"][1] == "1,500"


def test_more_backup_water_is_not_told_as_saved(everything: Plan) -> None:
    found = next_purchases(
        everything.matter.file, Site.of(everything.matter.scenario, everything.matter.record), {}
    )
    told = {row[0]: row[5] for row in rows(everything.sections["next"], "numbers-table offers")}
    for each in found.bought:
        assert told[each.offer.name].endswith(" more") == (each.saved_L < 0.0)


def test_the_map_of_sizes_says_what_runs_say(everything: Plan) -> None:
    matter = everything.matter
    found = buying._sized(matter)
    assert found is not None
    assert 1.0 in FACTORS
    dry = found.score("dry_days")
    assert dry.shape == (len(FACTORS), len(FACTORS))
    for roofs, tanks in ((1.0, 1.0), (FACTORS[0], FACTORS[-1]), (FACTORS[-1], FACTORS[0])):
        scores = score(simulate(resized(matter.scenario, roofs, tanks), matter.ledger.record))
        assert dry[FACTORS.index(roofs), FACTORS.index(tanks)] == scores.dry_days.total
    assert dry[FACTORS.index(1.0), FACTORS.index(1.0)] == matter.scores.dry_days.total
    assert dry[0, 0] > dry[-1, -1]


@pytest.mark.parametrize("factor", [0.4, 1.9])
def test_a_tank_of_another_size_is_as_high_as_before(everything: Plan, factor: float) -> None:
    before = everything.matter.scenario
    after = resized(before, factor, factor)
    for old, new in zip(before.tank, after.tank, strict=True):
        assert vessel(new).capacity == pytest.approx(factor * vessel(old).capacity)
        assert vessel(new).lip == pytest.approx(vessel(old).lip)
        assert vessel(new).outlet == vessel(old).outlet
    assert [roof.area for roof in after.roof] == [factor * roof.area for roof in before.roof]


def test_the_outlook_says_what_the_study_says(everything: Plan) -> None:
    matter, section = everything.matter, everything.sections["outlook"]
    seen = outlook(matter.scenario, matter.record, read_held(["40 %"], matter.scenario), ON, ahead.DAYS)
    found = rows(section, "numbers-table")
    dry = by_date(seen.first_dry, seen.days.size)
    assert found[0][0] == "31 Dec 2020"
    assert found[0][1] == f"{dry[30]} of {len(seen.traces)}"
    assert found[-1][1] == f"{dry[-1]} of {len(seen.traces)}"
    assert "few years say little" in plain(section)


def test_a_short_record_is_looked_through_as_far_as_it_goes(everything: Plan) -> None:
    matter = everything.matter
    assert ahead._far(matter) == ahead.DAYS
    begun, asked = dt.date(2020, 1, 1), replace(matter.asked, on=dt.date(2020, 10, 15))
    short = replace(matter, asked=asked, record=matter.record.between(begun, dt.date(2020, 12, 31)))
    assert ahead._far(short) == 30
    found = ahead.lies_ahead(short)
    assert found is not None
    assert rows(found, "numbers-table")[-1][0] == "13 Nov 2020"
    with pytest.raises(InputError, match="choose another day with --on, or leave --holding out"):
        ahead.lies_ahead(replace(short, asked=replace(asked, on=dt.date(2020, 12, 20))))


def test_every_caution_is_told(everything: Plan) -> None:
    assert everything.matter.scenario.site == {}
    assert checks.UNCHECKED in plain(everything.sections["cautions"])
    for caution in GENERAL:
        assert caution in plain(everything.sections["cautions"])
    holding = plain(everything.sections["holding"])
    for place in ("air gap", "Do not enter a tank", "mosquitoes", "asbestos", "8.34 lb"):
        assert place in holding


def test_assumptions_name_rule_start_coefficients_and_their_sources(everything: Plan) -> None:
    said = plain(everything.sections["assumptions"])
    for expected in (
        "yield after spillage, YAS",
        "On the first morning the tanks held 50 % of what can be drawn",
        "Farreny et al. 2011",
        "as given in the scenario",
        "FAO-56 (1998 edition) Tables 12",
        "Hargreaves (FAO-56 eq. 52)",
        "drinks [gal a head and day]",
        "all of a day's precipitation at a mean temperature of 30 degF or less, none at 37 degF or more",
        "Jenkins et al. 1978",
    ):
        assert expected in said
    for warning in everything.matter.ledger.warnings:
        assert " ".join(warning.split()) in said


def test_the_tables_print_the_rows_this_holding_uses_with_their_sources(everything: Plan) -> None:
    """FAO-56 (1998) Table 12 tomato and Table 19 loam; the files of the tables for the rest."""
    found = {table.head[0]: table for table in tabled.used(everything.matter)}
    assert list(found) == ["surface", "animal", "crop", "soil", "method", "month"]
    assert found["crop"].rows == [
        ["tomato", "0.60, 1.15, 0.80", "30, 40, 45, 30", "28", "0.40", growing.crops()["tomato"].source]
    ]
    loam = found["soil"].rows[0]
    assert loam[:3] == ["loam", "0.20 to 0.30", "0.07 to 0.17"]
    assert float(loam[3]) == pytest.approx(12 * (0.25 - 0.12))
    assert [row[0] for row in found["surface"].rows] == ["metal"]
    assert found["surface"].rows[0][1] == f"{tables.surfaces()['metal'].used:.2f}"
    (hens,) = found["animal"].rows
    first = tables.animals()["hen, laying"].rows[0]
    assert hens[1].startswith(f"{first.used / 3.785411784:.3g} at {first.temperature * 1.8 + 32:.0f} degF")  # type: ignore[operator]
    assert first.source in hens[2]
    said = plain(everything.sections["assumptions"])
    for table in found.values():
        for row in table.rows:
            assert all(" ".join(cell.split()) in said for cell in row)


def test_the_evapotranspiration_table_is_the_mean_of_the_run(everything: Plan) -> None:
    ledger = everything.matter.ledger
    table = next(t for t in tabled.used(everything.matter) if t.head[0] == "month")
    july = ledger.days.astype("datetime64[M]").astype(int) % 12 == 6
    assert table.head[7] == "Jul"
    assert float(table.rows[0][7]) == pytest.approx(ledger.flux("et0")[july].mean() / 25.4, abs=0.005)


def test_roofs_that_say_the_same_are_told_once(tmp_path: Path) -> None:
    text = EVERYTHING.replace("runoff_coefficient = 0.85", 'surface = "metal"').replace(
        'first_flush = { volume = "20 gal", drains_in = "1 day" }\n', ""
    )
    said = plain(made(tmp_path, text, []).sections["assumptions"])
    assert "barn and house 0.90 metal" in said


def test_the_weather_is_named_with_its_licence(everything: Plan) -> None:
    said = plain(everything.sections["weather"])
    assert "licence invented for a test" in said
    assert "1 January 2017 to 31 December 2020, 1,461 days" in said
    assert "1,461 observed" in said


def test_what_it_takes_to_make_it_again_is_there(everything: Plan) -> None:
    matter = everything.matter
    said = plain(everything.sections["reproduce"])
    for name in ("holding.toml", "weather.csv"):
        print_ = hashlib.sha256((matter.file.path.parent / name).read_bytes()).hexdigest()
        assert f"{name} {print_}" in said
    text = re.search(r'<pre class="scenario">(.*?)</pre>', everything.html, re.S)
    assert text is not None
    told = re.sub(r'<span class="line">(.*?)</span>', r"\1", text[1], flags=re.S)
    assert html.unescape(told).strip() == EVERYTHING.strip()
    assert "holdwater plan holding.toml" in said


def test_a_file_that_is_gone_has_no_fingerprint(tmp_path: Path) -> None:
    from holdwater.plan.origin import fingerprint

    assert fingerprint(tmp_path / "none.csv") == ""


# ------------------------------------------------------------------------------------------------ what does not apply


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    """One year, never dry, without backup, garden, variants, site or level."""
    return made(tmp_path_factory.mktemp("bare"), BARE, [])


def test_what_does_not_apply_is_left_out(bare: Plan) -> None:
    assert bare.matter.scores.dry_days.total == 0
    assert list(bare.sections) == [
        "front",
        "holding",
        "years",
        "worst",
        "water",
        "next",
        "sizes",
        "cautions",
        "assumptions",
        "weather",
        "reproduce",
    ]
    matter: Matter = bare.matter
    assert droughts.last_year(matter) is None
    assert water.garden(matter) is None
    assert ahead.lies_ahead(matter) is None
    assert whatifs.what_ifs(matter) is None
    assert checks.site(matter) is None
    assert len(bare.sections["worst"].charts) == 1
    assert "No drought: the tanks never fell short." in plain(bare.sections["worst"])
    assert "backup" not in plain(bare.sections["front"])
    assert "To know before trusting the numbers. The record is short (2018)" in plain(bare.sections["front"])
    assert "air gap" not in plain(bare.sections["holding"])


def test_metric_plans_speak_metric(bare: Plan) -> None:
    for key, section in bare.sections.items():
        if key not in ("cautions", "assumptions", "reproduce", "holding"):
            assert not re.search(r"\d (gal|ft2|in|degF)\b", plain(section)), key
    assert "400 m2 of metal" in bare.html
    assert "Where did the water go?" in bare.html


def test_site_checks_are_all_told(tmp_path: Path) -> None:
    plan = made(tmp_path, EVERYTHING + SITE, [])
    from holdwater.site.adapter import site_checks
    from holdwater.site.reading import read_site
    from holdwater.site.seen import seen_in

    scenario = plan.matter.scenario
    expected = site_checks(scenario, read_site(scenario.site, scenario), seen_in(plan.matter.ledger))
    said = plain(plan.sections["site"])
    assert len(expected) > 10
    for check in expected:
        words = f"{check.name}: needs" if check.verdict is Verdict.UNCHECKED else check.sentence("us")
        assert " ".join(words.split()) in said
    fails = sum(check.verdict is Verdict.FAILS for check in expected)
    made_ = len(expected) - sum(check.verdict is Verdict.UNCHECKED for check in expected)
    answer = plan.sections["site"].answer
    assert answer.startswith(f"{fails} of {made_} checks do" if fails else f"{made_} checks made, none fails")
    assert answer.endswith(f"{len(expected) - made_} more lack input.")
    assert checks.UNCHECKED not in plain(plan.sections["cautions"])
    assert plan.sections["site"].html.count('<tr class="is-fails">') == fails


def test_a_rule_of_the_hopeful_kind_is_told_as_such(tmp_path: Path) -> None:
    plan = made(tmp_path, EVERYTHING.replace("start_full", 'rule = "YBS"\nstart_full'), [])
    assert "yield before spillage, YBS" in plain(plan.sections["assumptions"])
