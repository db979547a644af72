"""Size: the sequent peak, the smallest that holds, the largest where less is more, and what falls out unevenly."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from holdwater.charts.curve import curve_chart, of_size
from holdwater.cli.size import as_data
from holdwater.cli.size_told import answers, around, plateau, sentence
from holdwater.errors import InputError
from holdwater.scenario import ScenarioFile
from holdwater.studies.batch import Site
from holdwater.studies.dials import span
from holdwater.studies.sequent_peak import peak, sequent_peak
from holdwater.studies.size import Size, Target, candidates, read_years, round_step, size
from tests.holdings import record

# Sequent peak (Thomas & Burden 1963): course solutions with published K; the last is from Loucks & van Beek,
# its inputs from memory.
PUBLISHED = [
    ([7, 3, 5, 1, 2, 5, 6, 3, 4], {1: 0, 2: 1, 3: 3, 4: 5}),
    ([16, 8, 12, 4, 8, 12], {5: 1, 6: 2, 7: 3, 8: 4, 9: 6, 10: 8}),
    ([1, 3, 3, 5, 8, 6, 7, 2, 1], {3.5: 7.5}),
]
CASES = [(flows, demand, k) for flows, known in PUBLISHED for demand, k in known.items()]
OneTank = Callable[..., ScenarioFile]


def answer(found: Size) -> str | None:
    return None if found.answer is None else found.tried.axis.dial.texts[found.answer]


@pytest.mark.parametrize(("flows", "demand", "k"), CASES)
def test_sequent_peak_of_published_examples(flows: list[float], demand: float, k: float) -> None:
    assert sequent_peak(flows, [demand] * len(flows)) == pytest.approx(k)


def test_no_storage_is_enough_for_more_than_comes() -> None:
    assert sequent_peak([1.0, 2.0], [2.0, 2.0]) is None
    assert sequent_peak([4.0, 0.0], [2.0, 2.0]) == 2.0
    assert sequent_peak([0.0], [0.0]) == 0.0


@pytest.mark.parametrize(("flows", "demand", "k"), [case for case in CASES if case[2] > 0])
def test_the_size_of_one_tank_is_its_sequent_peak(
    flows: list[float], demand: float, k: float, one_tank: OneTank
) -> None:
    """One tank from full, constant demand, YBS, the record twice: capacity K holds, one step less does not."""
    base = one_tank(f"draw.house.per_day={demand} m3/day")
    site = Site.of(base.scenario, record(flows * 2))
    found = size(base, site, "tank.tank.capacity=0.5 m3..12 m3", Target())
    assert answer(found) == f"{k:g} m3"
    assert found.peak.capacity_L == pytest.approx(1000 * k)
    assert found.grows
    assert found.stray is None
    assert found.tried.parts_failing[found.answer - 1] > 0  # type: ignore[operator]
    assert found.years == 0, "the record is shorter than a year"


@pytest.mark.parametrize(("flows", "demand", "k"), [case for case in CASES if case[2] > 0])
def test_under_yas_it_is_at_most_two_days_of_demand_more(
    flows: list[float], demand: float, k: float, one_tank: OneTank
) -> None:
    """Own arithmetic on the definitions of the rules; the margin that the study states."""
    base = one_tank(f"draw.house.per_day={demand} m3/day", "run.rule=YAS")
    site = Site.of(base.scenario, record(flows * 2))
    found = size(base, site, "tank.tank.capacity=0.5 m3..40 m3", Target())
    held = found.tried.axis.values[found.answer] / 1000  # type: ignore[index]
    assert k <= held <= k + found.peak.margin_L / 1000 + 0.2 + 1e-9, "0.2 m3 is the step of the search"
    assert found.peak.margin_L == pytest.approx(2000 * demand)


def test_the_peak_counts_what_draws_would_want_if_they_never_lacked(
    demo: ScenarioFile, demo_site: Site
) -> None:
    """Neither the hauler nor the size of the tanks changes it; more people do."""
    there = peak(demo.scenario, demo_site)
    smaller = demo.vary([("tank.upper.capacity", "4000 gal"), ("backup-", "hauler")])
    assert peak(smaller.scenario, demo_site).asked_L == pytest.approx(there.asked_L, rel=1e-12)
    assert peak(demo.vary([("draw.house.people", 4)]).scenario, demo_site).asked_L > there.asked_L
    assert there.present_L == pytest.approx((14_511 - 400) * 3.785411784, rel=1e-3)


def test_a_roof_is_sized_to_the_smallest_step_that_holds(demo: ScenarioFile, demo_site: Site) -> None:
    """Without the hauler more roof never hurts; found by a few values and the gap between two of them."""
    dry = demo.vary([("backup-", "hauler")])
    found = size(dry, demo_site, "roof.barn.area=500 ft2..6000 ft2", Target(10, 3, 4))
    assert found.scanned == ""
    assert found.tried.holds.size < 60
    assert found.may_fail == 1
    i = found.answer
    assert i is not None
    values = found.tried.axis.values / 0.09290304
    assert values[i] == pytest.approx(20 * round(values[i] / 20)), "a round step"
    assert values[i] - values[i - 1] == pytest.approx(20)
    assert found.tried.failing[i] == 1
    assert found.tried.failing[i - 1] > 1
    every = size(dry, demo_site, f"roof.barn.area=500 ft2..6000 ft2:{int(5500 / 20) + 1}", Target(10, 3, 4))
    assert answer(every) == answer(found), "a scan of all steps finds the same"


@pytest.mark.parametrize(
    ("asked", "target", "held"),
    [
        ("draw.house.people=1..6", Target(5, 3, 4), "3"),
        ("draw.house.per_person=10 gal/day..40 gal/day", Target(0, 1, 2), None),
        ("roof.house.first_flush.volume=0 gal..100 gal", Target(30, 3, 4), None),
        ("draw.tomatoes.area=20 ft2..600 ft2", Target(40, 3, 4, stress_days=60), None),
    ],
)
def test_the_largest_is_found_where_less_is_more(
    asked: str, target: Target, held: str | None, demo: ScenarioFile, demo_site: Site
) -> None:
    dry = demo.vary([("backup-", "hauler")])
    found = size(dry, demo_site, asked, target)
    assert not found.grows
    assert found.answer is not None
    assert held is None or answer(found) == held
    assert found.tried.holds[: found.answer + 1].all()
    assert not found.tried.holds[found.answer + 1 :].any() or found.stray is not None
    assert found.tried.failing[found.answer] <= found.may_fail
    assert (
        found.answer + 1 == found.tried.holds.size or found.tried.failing[found.answer + 1] > found.may_fail
    )


def test_days_of_thirst_in_the_beds_may_be_the_bound(demo: ScenarioFile, demo_site: Site) -> None:
    dry = demo.vary([("backup-", "hauler")])
    asked = "draw.tomatoes.area=20 ft2..600 ft2"
    any_thirst, no_thirst = (
        size(dry, demo_site, asked, Target(40, 3, 4, stress_days=days)) for days in (None, 5)
    )
    assert any_thirst.answer is not None
    fails = no_thirst.tried.outcome.by_year["stressed_days"] > 5
    assert (no_thirst.tried.failing >= fails.sum(axis=0)).all()
    assert (no_thirst.tried.failing > 1).any()


def test_with_a_hauler_every_value_is_tried_and_it_is_said(demo: ScenarioFile, demo_site: Site) -> None:
    """A larger tank calls him later: there may be more dry days with more storage."""
    found = size(demo, demo_site, "tank.upper.capacity=3000 gal..7000 gal", Target(12, 3, 4))
    assert found.scanned == "water brought into the tanks can make dry days of more storage"
    assert found.tried.holds.size == 201
    dry = found.tried.outcome.dry_days
    assert (np.diff(dry) > 0).any(), "more storage, more dry days"
    assert found.answer is not None
    assert found.tried.holds[found.answer :].all()


@pytest.mark.parametrize(
    ("rainy", "hauler", "holds", "at", "by_chance"),
    [
        (
            (1, 5, 13, 18, 22),
            {"starts_below": "40 %", "load": "4 m3", "lead_days": 4},
            "01000111",
            "8 m3",
            "4 m3",
        ),
        ((9,), {"starts_below": "50 %", "load": "3 m3", "lead_days": 3}, "00000010", None, "9 m3"),
    ],
)
def test_what_holds_by_chance_is_told_apart(
    rainy: tuple[int, ...],
    hauler: dict[str, object],
    holds: str,
    at: str | None,
    by_chance: str,
    one_tank: OneTank,
) -> None:
    """The hauler comes just in time for a middling tank and too late for a larger one."""
    base = one_tank().vary([("backup+", {"name": "hauler", "kind": "refill", **hauler})])
    rain = [(3.0 if len(rainy) > 1 else 5.0) if day in rainy else 0.0 for day in range(25)]
    found = size(
        base, Site.of(base.scenario, record(rain)), "tank.tank.capacity=3,4,5,6,7,8,9,10 m3", Target()
    )
    assert "".join(str(int(each)) for each in found.tried.holds) == holds
    assert answer(found) == at
    assert found.stray is not None
    assert found.tried.axis.dial.texts[found.stray] == by_chance


def test_a_range_that_never_holds_has_no_answer(one_tank: OneTank) -> None:
    base = one_tank("draw.house.per_day=2 m3/day")
    found = size(base, Site.of(base.scenario, record([1.0] * 30)), "tank.tank.capacity=1 m3..9 m3", Target())
    assert found.answer is None
    assert found.peak.capacity_L is None


def test_a_range_that_always_holds_answers_its_end(one_tank: OneTank) -> None:
    base = one_tank("draw.house.per_day=1 m3/day")
    found = size(base, Site.of(base.scenario, record([2.0] * 30)), "tank.tank.capacity=3 m3..9 m3", Target())
    assert answer(found) == "3 m3"
    less = size(
        base, Site.of(base.scenario, record([2.0] * 30)), "draw.house.per_day=0.1 m3/day..1 m3/day", Target()
    )
    assert answer(less) == "1 m3/day", "less is more by what the path is, where the data do not tell"
    assert not less.grows


def test_from_where_on_nothing_changes_is_seen(demo: ScenarioFile, demo_site: Site) -> None:
    """The lower of two linked tanks sets where both spill: a higher neighbour gains nothing."""
    by_height = demo.vary([("tank.upper-", "capacity"), ("tank.upper.overflow", "100 in")])
    found = size(by_height, demo_site, "tank.upper.overflow=60 in..300 in", Target(400))
    level = plateau(found)
    assert level is not None
    # The lower tank's lip stands as high as its 7,500 gal in 120 in; the upper pad is 4 in higher.
    lip = 7500 * 231 / (np.pi * 60**2)
    assert found.tried.axis.values[level] / 25.4 == pytest.approx(lip - 4.0, abs=2)


def test_a_wider_tank_in_a_link_is_no_plateau(demo: ScenarioFile, demo_site: Site) -> None:
    """A capacity that is turned keeps the height, so more of it holds more to the end of the range."""
    found = size(demo, demo_site, "tank.upper.capacity=3000 gal..15000 gal", Target(400))
    assert plateau(found) is None


def test_steps_are_round() -> None:
    for asked, step in {
        "a.b.c=3000 gal..15000 gal": 50,
        "a.b.c=500 ft2..6000 ft2": 20,
        "a.b.c=0.5 m3..12 m3": 0.05,
        "a.b.c=1..6": 1,
        "a.b.c=1.0..6.0": 0.02,
        "a.b.c=0 %..100 %": 0.5,
    }.items():
        found = span(asked)
        assert found is not None
        assert round_step(found) == pytest.approx(step)
    assert candidates("a.b.c=101 gal..300 gal").texts[:3] == ("101 gal", "101.5 gal", "102 gal")
    assert candidates("a.b.c=1..4").texts == ("1", "2", "3", "4")
    assert candidates("a.b.c=1500 gal,2500 gal").texts == ("1500 gal", "2500 gal")


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("9/10", (9, 10)),
        (" 3 / 4 ", (3, 4)),
        ("all", (0, 0)),
        (None, (0, 0)),
        ("9 of 10", (9, 10)),
        ("9 out of 10", (9, 10)),
        ("90%", (90, 100)),
    ],
)
def test_years_are_read(text: str | None, years: tuple[int, int]) -> None:
    assert read_years(text) == years


@pytest.mark.parametrize("text", ["9", "10/9", "0/5", "nine of ten", "9/", "1/0", "0 %", "120 %", "9 %0"])
def test_years_that_make_no_sense_are_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"--years .*9/10, or all"):
        read_years(text)


def test_a_year_that_is_cut_short_is_no_year_but_must_hold() -> None:
    target = Target(0, 9, 10)
    assert [target.may_fail(n) for n in (9, 10, 19, 30)] == [0, 1, 1, 3]
    assert Target().may_fail(30) == 0


def in_years(one_tank: OneTank, years: str | None) -> Size:
    """Two whole years with a drought of 12 days in the first, and parts of two with one of 5 in the last."""
    days = np.arange(np.datetime64("2000-12-20"), np.datetime64("2003-01-11"))
    rain = np.full(days.size, 2.0)
    for first, length in (("2001-06-01", 12), ("2003-01-02", 5)):
        start = int((np.datetime64(first) - days[0]).astype(int))
        rain[start : start + length] = 0.0
    site = Site.of(one_tank().scenario, record(rain.tolist(), "2000-12-20"))
    return size(one_tank(), site, "tank.tank.capacity=3,8,20 m3", Target(0, *read_years(years)))


def test_parts_of_years_count_as_no_years(one_tank: OneTank) -> None:
    found = in_years(one_tank, "1/2")
    tried = found.tried
    assert found.whole.tolist() == [False, True, True, False]
    assert (found.years, found.may_fail, answer(found)) == (2, 1, "8 m3")
    assert (tried.failing.tolist(), tried.parts_failing.tolist()) == ([1, 1, 0], [1, 0, 0])
    assert tried.holds.tolist() == [False, True, True], "a part that does not hold counts against it"
    assert sentence(found, "metric") == (
        "With tank capacity 8 m3 (8,000 L) or more, One tank (invented) gets through at least 1 of 2 years with"
        " no dry day."
    )
    cells = [row.partition(" of 2")[0][-1] for row in around(found, "metric").splitlines()[1:]]
    assert cells == ["1", "1", "2"]
    assert "1 of 2, not 1 part " in around(found, "metric").splitlines()[1]
    told = as_data(found, "metric")
    assert (told["target"]["years_on_record"], told["target"]["parts_of_years"]) == (2, 2)
    assert (told["answer"]["years_that_hold"], told["answer"]["parts_of_years_that_fail"]) == (1, 0)
    assert (told["present_years_that_hold"], told["present_parts_of_years_that_fail"]) == (1, 0)
    assert (
        "of 2000 and 2003 the record has only parts: they count as no year, but one that does not hold takes the"
        " place of a year that may fail."
    ) in answers(found, "metric")[0]


def test_the_years_below_the_curve_are_whole_ones(one_tank: OneTank) -> None:
    found = in_years(one_tank, "1/2")
    below = curve_chart(of_size(found, "metric", "Large enough."), "metric").axes[1]
    assert below.get_ylabel() == "Years with\nno dry day,\nof 2"
    lines = [np.ravel(line.get_ydata()).tolist() for line in below.lines]
    assert [1, 1, 2] in lines
    assert [1, 1] in lines, "one year of two is needed"


def test_all_years_are_the_whole_ones_and_the_parts_must_hold_too(one_tank: OneTank) -> None:
    found = in_years(one_tank, None)
    assert "gets through all 2 years with no dry day" in sentence(found, "metric")
    assert "but one that does not hold is not enough." in answers(found, "metric")[0]
    dry = Site.of(one_tank().scenario, record([0.0] * 366, "2001-01-01"))
    never = size(one_tank(), dry, "tank.tank.capacity=3,8 m3", Target())
    said = sentence(never, "metric")
    assert (
        "would not have got through the one whole year and 1 part of a year at the end of the record" in said
    )


def test_a_record_shorter_than_a_year_counts_days(one_tank: OneTank) -> None:
    wet = Site.of(one_tank().scenario, record([1.0] * 50))
    enough = size(one_tank(), wet, "tank.tank.capacity=3,8 m3", Target())
    assert "gets through all 50 days with no dry day" in sentence(enough, "metric")
    dry = Site.of(one_tank().scenario, record([0.0] * 50))
    never = size(one_tank(), dry, "tank.tank.capacity=3,8 m3", Target())
    assert "would not have got through the 50 days on record with no dry day" in sentence(never, "metric")
    assert " no " in around(never, "metric").splitlines()[1]
    assert answers(never, "metric")[0] == "Now (5,000 L) it does not hold."


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("run.rule=YAS,YBS", "only numbers in rising order can be searched; write LOW..HIGH"),
        ("tank.tank.capacity=5 m3,3 m3", "only numbers in rising order"),
        ("tank.tnk.capacity=1 m3..3 m3", "did you mean 'tank'?"),
    ],
)
def test_what_cannot_be_searched_is_refused(asked: str, said: str, one_tank: OneTank) -> None:
    base = one_tank()
    with pytest.raises(InputError, match=said.replace("?", r"\?")):
        size(base, Site.of(base.scenario, record([1.0] * 30)), asked, Target())
