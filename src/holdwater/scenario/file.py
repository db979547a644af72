"""From a TOML file to a checked scenario, with every fault of the file told at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from holdwater.errors import InputError
from holdwater.scenario.cautions import cautions
from holdwater.scenario.checks import cross_checks
from holdwater.scenario.parts import sound, take_apart
from holdwater.scenario.references import unknown_names
from holdwater.scenario.schema import Scenario
from holdwater.scenario.toml_slips import parse
from holdwater.scenario.toml_text import read_text
from holdwater.scenario.variants import Change, changed, variant_changes


@dataclass(frozen=True)
class ScenarioFile:
    """A scenario that passed every check, with where it came from.

    Attributes
    ----------
    scenario : Scenario
        The holding, every quantity in its inside unit.
    path : Path
        The file.
    text : str
        The file as it stands.
    warnings : list of str
        What is allowed but seldom meant.
    variant : str or None
        Name of the variant applied.
    raw : dict
        The scenario in the file's own words, changes applied; what-ifs start from here.
    """

    scenario: Scenario
    path: Path
    text: str
    warnings: list[str]
    variant: str | None = None
    raw: dict[str, Any] = field(default_factory=dict, repr=False)

    def vary(self, changes: Iterable[str | Change]) -> ScenarioFile:
        """Apply more changes and check again.

        Parameters
        ----------
        changes : iterable of str or (str, object)
            "roof.barn.area=2200 ft2", or a path and a value: ("roof.barn.area", "2200 ft2").

        Raises
        ------
        InputError
            With every fault of the changed scenario.
        """
        raw = changed(self.raw, changes)
        scenario, warnings = check_raw(raw)
        return replace(self, scenario=scenario, warnings=warnings, raw=raw)


def load(path: str | Path, sets: Iterable[str | Change] = (), variant: str | None = None) -> ScenarioFile:
    """Read a scenario file, apply a variant and changes, and check all of it.

    Parameters
    ----------
    path : str or Path
        The TOML file.
    sets : iterable of str or (str, object)
        Changes on top: "roof.barn.area=2200 ft2".
    variant : str, optional
        Name of a [variant] of the file, applied before `sets`.

    Returns
    -------
    ScenarioFile

    Raises
    ------
    InputError
        With ALL faults found: the file cannot be read, or what it says does not hold together.
    """
    path, sets = Path(path), list(sets)
    text = read_text(path)
    raw = parse(text, path)
    scenario, warnings = _scenario(raw, variant, sets)
    return ScenarioFile(scenario, path, text, warnings, variant, _words(raw, variant, sets))


def check(path: str | Path, sets: Iterable[str | Change] = ()) -> ScenarioFile:
    """Read a scenario file and check it and every variant in it.

    Returns
    -------
    ScenarioFile
        The scenario without a variant; its warnings name the variant they belong to.

    Raises
    ------
    InputError
        With all faults; those of a variant alone begin with its name. Where the file lacks a part or names two
        things alike, its variants are left for the next time: they would repeat it in other words.
    """
    path, sets = Path(path), list(sets)
    text = read_text(path)
    raw = parse(text, path)
    faults: list[str] = []
    warnings: list[str] = []
    good: dict[str | None, Scenario] = {}
    for name in (None, *(variant_names(raw) if sound(raw) else ())):
        try:
            good[name], told = _scenario(raw, name, sets)
        except InputError as error:
            faults += [new for new in error.faults if new not in faults]
        else:
            known = [said.removeprefix(_under(name)) for said in warnings]
            warnings += [_under(name) + said for said in told if said not in known]
    if faults:
        raise InputError(faults)
    return ScenarioFile(good[None], path, text, warnings, None, changed(raw, sets))


def _under(variant: str | None) -> str:
    """What a sentence about a variant begins with."""
    return "" if variant is None else f"variant '{variant}': "


def variant_names(file: ScenarioFile | dict[str, Any]) -> list[str]:
    """Names of the variants in a file, in its order."""
    raw = file.raw if isinstance(file, ScenarioFile) else file
    variants = raw.get("variant", {})
    return list(variants) if isinstance(variants, dict) else []


def check_raw(raw: dict[str, Any]) -> tuple[Scenario, list[str]]:
    """Check a scenario as TOML gives it.

    Returns
    -------
    Scenario, list of str
        The scenario and its warnings.

    Raises
    ------
    InputError
        With all faults.
    """
    parts = take_apart(raw)
    faults = [*parts.faults, *unknown_names(raw, parts), *cross_checks(parts)]
    if faults:
        raise InputError(list(dict.fromkeys(faults)))
    read = {key: value for key, value in parts.read.items() if value is not None}
    scenario = Scenario.model_validate(read)
    return scenario, cautions(scenario)


def _scenario(
    raw: dict[str, Any], variant: str | None, sets: Iterable[str | Change]
) -> tuple[Scenario, list[str]]:
    """Apply a variant and changes and check; faults that only the variant brings begin with its name."""
    try:
        return check_raw(_words(raw, variant, sets))
    except InputError as error:
        if variant is None or variant not in variant_names(raw):
            raise
        own = _faults(raw, sets)
        faults = [fault if fault in own else _under(variant) + fault for fault in error.faults]
        raise InputError(faults) from None


def _words(raw: dict[str, Any], variant: str | None, sets: Iterable[str | Change]) -> dict[str, Any]:
    """Put the changes of a variant, then further ones, into the file's own words."""
    mine = [] if variant is None else variant_changes(raw, variant)
    return changed(changed(raw, mine), sets)


def _faults(raw: dict[str, Any], sets: Iterable[str | Change]) -> list[str]:
    try:
        check_raw(changed(raw, sets))
    except InputError as error:
        return error.faults
    return []
