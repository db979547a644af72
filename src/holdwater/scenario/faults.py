"""What a checked value says when it is wrong: pydantic's findings as short sentences by name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from holdwater.scenario import schema
from holdwater.scenario.quantities import MONTHS
from holdwater.scenario.value_faults import how_many, said
from holdwater.units import quoted

_SLIP, _MOST_MEANT = 0.8, 5  # how alike a slip of the pen is; how many names a question holds
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
_EXAMPLES = {  # how each required key and each table is written
    "title": '"Our holding"',
    "area": '"1480 ft2"',
    "feeds": '"upper"',
    "tanks": '["upper", "lower"]',
    "from_tank": '"lower"',
    "to_tank": '"upper"',
    "starts_below": '"20 %"',
    "per_day": '"38 gal/day"',
    "per_person": '"38 gal/day"',
    "people": "3",
    "animals": '{ "hen, laying" = 20 }',
    "volume": '"400 gal"',
    "level": '"24 in"',
    "file": '"weather.csv"',
    "from": "2012-05-01",
    "to": "2012-05-20",
    "latitude": "38.4",
    "longitude": "-109.2",
    "first_flush": '{ volume = "45 gal", drains_in = "1 day" }',
    "collects": '{ from = "04-15", to = "10-31" }',
    "season": '{ from = "04-15", to = "10-31" }',
    "closed": "[ { from = 2012-05-01, to = 2012-05-20 } ]",
    "away": "[ { from = 2012-05-01, to = 2012-05-20 } ]",
    "levels": '[ { level = "0 in", volume = "0 gal" }, { level = "60 in", volume = "1500 gal" } ]',
    "from_tanks": '["upper", "lower"]',
    "in_tanks": '["upper", "lower"]',
    "serves": '["house"]',
}
_MEANT = {  # what people call a key, and the keys it may be, the likeliest first
    "height": ("overflow", "elevation"),
    "lip": ("overflow",),
    "size": ("capacity", "area", "load", "volume"),
    "volume": ("capacity", "load"),
    "gallons": ("capacity", "load", "volume", "per_day"),
    "litres": ("capacity", "load", "volume", "per_day"),
    "width": ("diameter", "area"),
    "length": ("area",),
    "footprint": ("area",),
    "material": ("surface",),
    "tank": ("feeds", "into", "from_tanks", "in_tanks"),
    "tanks": ("tank", "from_tanks", "in_tanks", "feeds"),
    "to": ("feeds", "into", "to_tank"),
    "coefficient": ("runoff_coefficient",),
    "runoff": ("runoff_coefficient",),
    "persons": ("people",),
    "residents": ("people",),
    "use": ("per_person", "per_day", "draw"),
    "usage": ("per_person", "per_day", "draw"),
    "daily": ("per_person", "per_day"),
    "head": ("animals",),
    "herd": ("animals",),
    "plant": ("crop",),
    "plants": ("crop",),
    "price": ("cost", "cost_per_load", "cost_per_volume"),
    "cost": ("cost_per_load", "cost_per_volume"),
    "delay": ("lead_days",),
    "days": ("lead_days",),
    "trigger": ("starts_below",),
    "draws": ("draw", "serves"),
    "start": ("from", "start_full"),
    "end": ("to",),
    "lat": ("latitude",),
    "lon": ("longitude",),
    "lng": ("longitude",),
    "altitude": ("elevation",),
    "path": ("file",),
    "csv": ("file",),
    "id": ("station",),
    "units": ("show_units", "rain_unit"),
    "name": ("title",),
    "pump": ("transfer",),
    "well": ("backup",),
    "hauler": ("backup",),
    "mains": ("backup",),
    "household": ("draw",),
    "livestock": ("draw",),
    "garden": ("draw",),
    "location": ("place",),
}
_IS = {"overflow": "the height of the lip above the tank's own base"}
_NAMES = {
    "Roof": '"barn"',
    "Transfer": '"lift pump"',
    "Direct": '"well"',
    "Refill": '"hauler"',
} | dict.fromkeys(("Household", "Livestock", "Fixed"), '"house"')


def ordinal(place: int) -> str:
    """Word for a place in a list, counted from 0: "first", "second", ... "11th"."""
    return _ORDINALS[place] if place < len(_ORDINALS) else f"{place + 1}th"


def listed(names: Iterable[str], last: str = "and") -> str:
    """Names as a phrase: 'a', 'b' and 'c'."""
    words = [f"'{name}'" for name in names]
    return f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def did_you_mean(
    found: str, known: Iterable[str], what: str, last: str = "and", meant: Iterable[str] = ()
) -> str:
    """Say which known names come closest, or which names there are.

    Parameters
    ----------
    found : str
        The name that is not known.
    known : iterable of str
        Names that are.
    what : str
        What they name.
    last : str
        "and" or "or" before the last of them.
    meant : iterable of str
        Names that it may stand for, though they are spelled quite otherwise.
    """
    names = list(dict.fromkeys(known))
    if not names:
        return f"there is no {what} here"
    lower = {name.lower(): name for name in reversed(names)}
    close = [name for name in meant if name in names]
    close = close or get_close_matches(found.lower()[:60], list(lower), 1, _SLIP)
    close = close or _with_its_words(found, names)
    close = close or get_close_matches(found.lower()[:60], list(lower), 1, 0.6)
    if close:
        return f"did you mean {listed([lower[name.lower()] for name in close], 'or')}?"
    several = len(names) > 1
    return f"the {what}{'s are' if several else ' is'} {listed(names, last)}"


def _with_its_words(found: str, names: Sequence[str]) -> list[str]:
    """Names that hold every word of what was written, in the singular or plural: "hens" for "hen, laying"."""
    wanted = [_singulars(word) for word in _words_of(found)]
    close = [
        name for name in names if all(any(one & _singulars(w) for w in _words_of(name)) for one in wanted)
    ]
    return close if wanted and len(close) <= _MOST_MEANT else []


def _words_of(name: str) -> list[str]:
    return re.findall(r"[^\W_]{3,}", name.lower())


def _singulars(word: str) -> set[str]:
    return {word, word.removesuffix("s"), word.removesuffix("es")}


def keys_of(model: type[BaseModel]) -> list[str]:
    """Keys of one table of the file, as they are written there."""
    return [info.alias or name for name, info in model.model_fields.items()]


def kinds_of(union: Any) -> dict[str, type[BaseModel]]:
    """Classes of a union of tables by their `kind`."""
    return {get_args(each.model_fields["kind"].annotation)[0]: each for each in get_args(get_args(union)[0])}


def inner_model(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    """Class of the table that stands under a key of another, such as `first_flush`."""
    info = next((info for name, info in model.model_fields.items() if key in (name, info.alias)), None)
    kinds = [info.annotation] if info else []
    for kind in kinds:
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            return kind
        kinds += get_args(kind)
    return None


def faults_of(
    error: ValidationError,
    where: str,
    model: type[BaseModel],
    names: Mapping[str, Sequence[str]] | None = None,
) -> list[str]:
    """Turn every finding of pydantic about one table of the file into a sentence.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    where : str
        The table by name: "roof 'barn'".
    model : type
        Class the table was held against.
    names : mapping, optional
        Names the file gives its tanks and draws, for what a message says to write.
    """
    examples = _EXAMPLES | _own_examples(names or {})
    return [_sentence(each, where, model, examples) for each in error.errors(include_url=False)]


def _own_examples(names: Mapping[str, Sequence[str]]) -> dict[str, str]:
    """How keys that name a tank or a draw are written with the names of the file."""
    tanks, draws = ([quoted(name) for name in names.get(part, [])] for part in ("tank", "draw"))
    both = f"[{', '.join(tanks[:2])}]"
    own = {"feeds": tanks[0], "to_tank": tanks[0], "from_tank": tanks[-1]} if tanks else {}
    own |= dict.fromkeys(("from_tanks", "in_tanks"), both) if tanks else {}
    own |= {"tanks": both} if tanks[1:] else {}
    return own | ({"serves": f"[{draws[0]}]"} if draws else {})


def _sentence(error: ErrorDetails, where: str, model: type[BaseModel], examples: Mapping[str, str]) -> str:
    loc = [step for step in error["loc"] if not str(step).startswith("<") and step != "[key]"]
    for step in loc[:-1]:
        model = inner_model(model, str(step)) or model
    kind, found, ctx = error["type"], error["input"], error.get("ctx", {})
    key = str(loc[-1]) if loc else ""
    path = _path(loc)
    before = f"{where}: " if where else ""
    if kind == "missing" and isinstance(loc[-1], int):
        return f"{before}{path} is missing"
    if kind == "missing":
        inside = f"{_path(loc[:-1])}: " if len(loc) > 1 else ""
        example = _NAMES.get(model.__name__, '"upper"') if key == "name" else examples.get(key)
        return f"{before}{inside}{key} is missing" + (f"; write {key} = {example}" if example else "")
    if kind == "extra_forbidden":
        inside = f"{_path(loc[:-1])}: " if len(loc) > 1 else ""
        return f"{before}{inside}{_of_another_kind(key, model) or unknown_key(key, keys_of(model))}"
    if kind == "quantity":
        return f"{before}{path} = {ctx['said']}"
    if kind in ("too_short", "too_long"):
        return f"{before}{path}: {how_many(ctx, key, examples)}"
    return f"{before}{path} = {quoted(found)}: {said(error, key, found, ctx, examples)}"


def unknown_key(key: str, known: Sequence[str]) -> str:
    """Say that a key is not known here, and which comes closest."""
    lower = key.lower()[:60]
    meant = [each for each in _MEANT.get(lower, ()) if each in known]
    close = get_close_matches(lower, known, 1, _SLIP) or meant[:1] or get_close_matches(lower, known, 1, 0.6)
    what = f" ({_IS[close[0]]})" if close and close[0] in _IS else ""
    hint = f"did you mean {close[0]}{what}?" if close else f"the keys here are {', '.join(known)}"
    return f"unknown key {shown_key(key)}; {hint}"


def _of_another_kind(key: str, model: type[BaseModel]) -> str:
    """Say that a key of a draw or backup belongs to another kind of it."""
    for union in (schema.Draw, schema.Backup):
        kinds = kinds_of(union)
        ours = next((kind for kind, each in kinds.items() if each is model), None)
        theirs = [f'"{kind}"' for kind, each in kinds.items() if key in keys_of(each)]
        if ours and theirs:
            return f'{key} belongs to kind {" or ".join(theirs)}, and this is kind "{ours}"'
    return ""


def shown_key(key: str) -> str:
    """Write a key as it stands in the file: bare, or in quotes where TOML needs them."""
    bare = key.replace("_", "").replace("-", "")
    return key if bare.isascii() and bare.isalnum() else quoted(key)


def _path(loc: Sequence[str | int]) -> str:
    """Name the place inside a table: "first_flush, volume"; "monthly, May"; "closed, second entry"."""
    if loc and loc[0] == "variant" and len(loc) > 1:
        return f"variant '{loc[1]}'"
    words: list[str] = []
    for before, step in zip(["", *loc], loc, strict=False):
        if not isinstance(step, int):
            words.append(shown_key(step))
        elif str(before).startswith("monthly") and step < 12:
            words.append(MONTHS[step])
        else:
            words.append(f"{ordinal(step)} entry")
    return ", ".join(words)
