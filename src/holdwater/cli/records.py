"""`holdwater weather inspect` and `holdwater weather convert`: weather files of any known kind."""

from __future__ import annotations

import dataclasses
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdwater.cli.text import columns, count
from holdwater.errors import InputError
from holdwater.units import System, scale, show
from holdwater.weather import conversion, inspection
from holdwater.weather.inspection import Inspection, Stretch

if TYPE_CHECKING:
    from holdwater.scenario.schema import Place, WeatherFile

CHART = "record"


@dataclass(frozen=True)
class File:
    """The file as typed, the keys that read it, and the scenario that lends them."""

    path: Path
    keys: list[str]
    scenario: Path | None


def inspect(file: File, out: Path | None, chart: bool, units: str | None, as_json: bool, quiet: bool) -> None:
    """Tell what a weather file is and holds, and draw it.

    Raises
    ------
    InputError
        The file or a key cannot be read, or the chart cannot be written.
    """
    keys, place, shown = _read(file)
    found = inspection.inspect(file.path, keys, place)
    system: System = "metric" if (units or shown) == "metric" else "us"
    pictures = _draw(found, out or Path("outputs") / _stem(file.path), system) if chart else []
    if as_json:
        print(json.dumps(_told(found, pictures), indent=2, ensure_ascii=False))
    elif not quiet:
        _print(found, pictures, system)


def convert(file: File, out: Path, as_json: bool, quiet: bool) -> None:
    """Write a weather file as a tidy CSV or a CF netCDF, and tell what stays behind and what a run would not take.

    Raises
    ------
    InputError
        The file or a key cannot be read, or the target cannot be written.
    """
    keys, place, _ = _read(file)
    found = conversion.readable(file.path, keys, place)
    written = conversion.write(found.record, out)
    if as_json:
        print(json.dumps({"read": str(file.path), "written": str(written)}, ensure_ascii=False))
    elif not quiet:
        print(f"Wrote {written}")
        left = ", ".join(f"'{name}'" for name in found.record.provenance.not_used)
        if left:
            print(f"Not in it, since not used: {left}.")
        for finding in found.findings:
            if finding.hard:
                print(f"A run stops at it ({finding.name}): {finding.what}; {finding.cure}.")


def _stem(path: Path) -> str:
    """Name of a file without its endings: "rain" of "rain.csv.gz"."""
    return path.name.removesuffix(".gz").rsplit(".", 1)[0] or path.name


def _read(file: File) -> tuple[WeatherFile, Place | None, str | None]:
    """The keys that read the file, the place, and the units a scenario shows."""
    from pydantic import ValidationError

    from holdwater.scenario.faults import faults_of, keys_of, unknown_key
    from holdwater.scenario.schema import WeatherFile

    known = [key for key in keys_of(WeatherFile) if key != "file"]
    given: dict[str, Any] = {}
    place = shown = None
    if file.scenario is not None:
        from holdwater.scenario import load

        lent = load(file.scenario)
        raw = lent.raw["weather"]
        given = {key: raw[key] for key in known if key in raw and raw.get("file")}
        place, shown = lent.scenario.place, lent.scenario.show_units
    faults = []
    for text in file.keys:
        key, equals, value = (part.strip() for part in text.removeprefix("weather.").partition("="))
        if not equals:
            faults.append(f'--set "{text}": write KEY=VALUE, such as "rain_unit=in"')
        elif key not in known:
            faults.append(f"--set: {unknown_key(key, known)}")
        else:
            given[key] = _value(value)
    if faults:
        raise InputError(faults)
    try:
        return WeatherFile.model_validate({**given, "file": str(file.path)}), place, shown
    except ValidationError as error:
        raise InputError(faults_of(error, "--set", WeatherFile)) from None


def _value(text: str) -> object:
    """A list or a quoted text as TOML has it, else the text as it stands."""
    if text[:1] in ('"', "'", "["):
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError:
            return text
    return text


def _draw(found: Inspection, folder: Path, system: System) -> list[Path]:
    from holdwater.charts.files import picture, write
    from holdwater.charts.record import record_chart

    try:
        return write(picture(record_chart(found.record, system), CHART), folder)
    except OSError as fault:
        raise InputError(
            f"cannot write the chart into {folder}: {fault.strerror or fault}; choose another folder with --out"
        ) from None


def _told(found: Inspection, pictures: list[Path]) -> dict[str, Any]:
    told = {
        field.name: getattr(found, field.name)
        for field in dataclasses.fields(found)
        if field.name not in ("record", "years", "findings")
    }
    for name in ("longest_gap", "longest_dry", "longest_rainless", "longest_wet"):
        told[name] = told[name] and dataclasses.asdict(told[name])
    told["wettest_mm"], told["mean_year_mm"] = told.pop("wettest"), told.pop("mean_year")
    told["findings"] = [dataclasses.asdict(finding) for finding in found.findings]
    told["years"] = [dataclasses.asdict(year) for year in found.years]
    told["charts"] = [str(path) for path in pictures]
    return told


def _print(found: Inspection, pictures: list[Path], system: System) -> None:
    rows = [
        ["read as", f'{found.form} (format = "{found.format}")'],
        ["units as read", found.units_as_read],
        ["station", ", ".join(filter(None, [found.station, found.place]))],
        ["licence", found.licence],
        ["day ends", found.day_ends],
        ["days", f"{found.first} to {found.last}, {count(found.days, 'day')}"],
        ["", "; ".join(f"{number:,} {label}" for label, number in found.origins.items())],
        ["missing", _missing(found)],
        ["wettest day", f"{show(found.wettest, 'depth', system)} on {found.wettest_on}"],
        ["mean year", _mean(found, system)],
        ["longest dry spell", _stretch(found.longest_dry, "under 1 mm a day")],
        ["longest rainless spell", _stretch(found.longest_rainless, "nothing at all")],
        ["longest wet spell", _stretch(found.longest_wet, "1 mm or more a day")],
    ]
    print(f"{found.source}\n")
    print("\n".join(f"  {name:<22}   {said}" for name, said in rows if said))
    print(f"\n{_years(found, system)}")
    for finding in found.findings:
        stops = "A run stops here" if finding.hard else "Suspicious"
        print(f"\n{stops} ({finding.name}): {finding.what}; {finding.cure}.")
    if not found.findings:
        print("\nNothing suspicious was found.")
    for note in found.notes:
        print(f"\nNote: {note}.")
    if pictures:
        print(f"\nDrawn: {', '.join(str(path) for path in pictures)}")


def _missing(found: Inspection) -> str:
    if not found.missing:
        return "no day"
    by_year = ", ".join(f"{year}: {days}" for year, days in list(found.missing_by_year.items())[:12])
    more = len(found.missing_by_year) - 12
    by_year += f" and {count(more, 'more year')}" if more > 0 else ""
    return f"{count(found.missing, 'day')} ({by_year}); longest gap {_stretch(found.longest_gap)}"


def _stretch(stretch: Stretch | None, what: str = "") -> str:
    if stretch is None:
        return ""
    span = stretch.first if stretch.days == 1 else f"{stretch.first} to {stretch.last}"
    said = f"{count(stretch.days, 'day')}, {span}"
    return f"{said} ({what})" if what else said


def _mean(found: Inspection, system: System) -> str:
    whole = sum(year.complete for year in found.years)
    if found.mean_year is None:
        return "not known: no calendar year is complete"
    return f"{show(found.mean_year, 'depth', system)} over {count(whole, 'complete year')}"


def _years(found: Inspection, system: System) -> str:
    factor, unit = scale("depth", system)
    places = 2 if system == "us" else 1

    def depth(value: float | None) -> str:
        return "" if value is None else f"{value * factor:.{places}f}"

    rows = [
        ["year", "days", "missing", f"rain [{unit}]", "wet days", f"wettest [{unit}]", "on", "longest dry"]
    ]
    for year in found.years:
        told = [year.year, year.days, year.missing or "", depth(year.total), year.wet_days]
        told += [depth(year.wettest), year.wettest_on or "", year.longest_dry]
        rows.append([str(cell) for cell in told])
    return columns(rows)
