"""Change factors: how they are read, and what they do to a record."""

from __future__ import annotations

import numpy as np
import pytest

from holdwater.errors import InputError
from holdwater.scenario.schema import Place, Weather
from holdwater.weather.change import Change, as_written, changed, read_changes, said
from holdwater.weather.record import Provenance, Record, daily_dataset
from tests.holdings import record

ALL = tuple(range(1, 13))
SUMMER = (6, 7, 8)


def warm_record() -> Record:
    days = np.arange(np.datetime64("2001-01-01"), np.datetime64("2002-01-01"))
    n = days.size
    data = daily_dataset(
        days, np.full(n, 10.0), np.ones(n, dtype=np.int8), t_min=np.zeros(n), t_max=np.full(n, 8.0)
    )
    return Record(data, Provenance(source="invented for a test"))


@pytest.mark.parametrize(
    ("text", "what", "by", "months"),
    [
        ("rain x 0.9 in summer", "rain", 0.9, SUMMER),
        ("rain x0.9", "rain", 0.9, ALL),
        ("Rain × .9 in fall", "rain", 0.9, (9, 10, 11)),
        ("rain * 1.1 from November to February", "rain", 1.1, (1, 2, 11, 12)),
        ("rain -10 % in July", "rain", 0.9, (7,)),
        ("rain +25% in winter and spring", "rain", 1.25, (1, 2, 3, 4, 5, 12)),
        ("rainfall − 10 % during Jun - Aug", "rain", 0.9, SUMMER),
        ("+2 degC", "temperature", 2.0, ALL),
        ("-1.5 °C in winter", "temperature", -1.5, (1, 2, 12)),
        ("temperature +3.6 degF in may", "temperature", 2.0, (5,)),
        ("+ 2 C", "temperature", 2.0, ALL),
        ("temperature +2 K", "temperature", 2.0, ALL),
    ],
)
def test_changes_are_read_as_people_write_them(
    text: str, what: str, by: float, months: tuple[int, ...]
) -> None:
    (found,) = read_changes(text)
    assert (found.what, found.months, found.text) == (what, months, text)
    assert found.by == pytest.approx(by)


def test_several_changes_are_divided_by_commas() -> None:
    found = read_changes("rain x 0.9 in summer, +2 degC")
    assert [(c.what, c.by) for c in found] == [("rain", 0.9), ("temperature", 2.0)]


def test_south_of_the_equator_summer_is_december_to_february() -> None:
    assert read_changes("rain x 0.9 in summer", south=True)[0].months == (1, 2, 12)
    assert read_changes("rain x 0.9 in winter", south=True)[0].months == SUMMER
    assert read_changes("rain x 0.9 in spring", south=True)[0].months == (9, 10, 11)
    assert read_changes("rain x 0.9 in July", south=True)[0].months == (7,)


@pytest.mark.parametrize(
    ("text", "south", "months"),
    [
        ("rain x 0.9 in summer", False, "rain x 0.9 in summer (June to August)"),
        ("rain x 0.9 in summer", True, "rain x 0.9 in summer (December to February)"),
        ("rain x 0.9 in winter and spring", False, "rain x 0.9 in winter and spring (December to May)"),
        ("rain x 0.9 in spring and autumn", True, None),
        ("-1 degC in summer and July", True, "-1 degC in summer and July (July and December to February)"),
        ("rain x 0.9 in winter, +2 degC", True, "rain x 0.9 in winter (June to August), +2 degC"),
        ("rain x 0.9 from June to August", False, "rain x 0.9 from June to August"),
        ("+2 degC", False, "+2 degC"),
    ],
)
def test_a_season_is_told_with_its_months(text: str, south: bool, months: str | None) -> None:
    both = "rain x 0.9 in spring and autumn (March to May and September to November)"
    assert said(read_changes(text, south)) == (months or both)


def place(latitude: float) -> Place:
    return Place(latitude=latitude, longitude=18.0)


def test_the_notes_tell_the_months_and_on_which_side_of_the_equator_they_are() -> None:
    weather = Weather(file="any.csv", change="rain x 0.5 in summer")
    north, south, nowhere = (as_written(warm_record(), weather, at) for at in (place(40), place(-33), None))
    assert north.provenance.notes == ("weather changed on purpose: rain x 0.5 in summer (June to August)",)
    assert south.provenance.notes == (
        "weather changed on purpose: rain x 0.5 in summer (December to February)",
    )
    assert nowhere.provenance.notes == (
        *north.provenance.notes,
        "seasons are those north of the equator, because the scenario does not say where it is; add [place]",
    )
    by_name = as_written(warm_record(), Weather(file="any.csv", change="rain x 0.5 in July"), None)
    assert by_name.provenance.notes == ("weather changed on purpose: rain x 0.5 in July",)
    month = north.days.astype("datetime64[M]").astype(int) % 12 + 1
    for drier, months in ((north, SUMMER), (south, (12, 1, 2)), (nowhere, SUMMER)):
        assert set(month[drier.data["rain"].values == 5.0]) == set(months)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", 'no change given; write for example "rain x 0.9 in summer'),
        ("rain less", "not a change of rain or temperature"),
        ("snow x 2", "not a change of rain or temperature"),
        ("2 degC", "not a change of rain or temperature"),
        ("rain x 0.9 in the heat", '"the heat" is no season; write "in summer", "in July"'),
        ("rain x 9", "rain becomes 9 times what it was; use 0 to 5"),
        ("rain -120 %", "rain becomes -0.2 times"),
        ("+40 degF", "a shift of 22.2 degC is too large"),
    ],
)
def test_what_cannot_be_read_is_refused_with_the_cure(text: str, fault: str) -> None:
    with pytest.raises(InputError, match=fault):
        read_changes(text)


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(InputError) as error:
        read_changes("rain less, +2 degC, snow x 2")
    assert len(error.value.faults) == 2


def test_rain_and_warmth_change_in_their_months_only_and_the_record_given_stays() -> None:
    before = warm_record()
    after = changed(before, read_changes("rain x 0.5 in summer, rain x 0.8, +2 degC in January"))
    month = before.days.astype("datetime64[M]").astype(int) % 12 + 1
    rain, low, high = (after.data[name].values for name in ("rain", "t_min", "t_max"))
    assert np.unique(rain[np.isin(month, SUMMER)]).tolist() == [4.0]
    assert np.unique(rain[~np.isin(month, SUMMER)]).tolist() == [8.0]
    assert np.unique(low[month == 1]).tolist() == [2.0]
    assert np.unique(high[month != 1]).tolist() == [8.0]
    assert np.unique(before.data["rain"].values).tolist() == [10.0]
    assert after.data["rain"].attrs == before.data["rain"].attrs
    assert after.provenance.notes[-1] == (
        "weather changed on purpose: rain x 0.5 in summer (June to August), rain x 0.8, +2 degC in January"
    )


def test_a_change_that_cannot_take_effect_is_refused() -> None:
    with pytest.raises(InputError, match="has no temperatures to change"):
        changed(record([1.0, 2.0]), [Change("temperature", 2.0, ALL, "+2 degC")])
    own = warm_record()
    own.data["et0"] = own.data["t_max"]
    with pytest.raises(InputError, match="its own evapotranspiration, which would not follow"):
        changed(own, read_changes("+2 degC"))
