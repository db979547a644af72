"""What a checked value says when it is wrong: pydantic's findings as short sentences by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from holdwater.scenario import schema
from holdwater.scenario.quantities import MONTHS
from holdwater.units import quoted

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


def did_you_mean(found: str, known: Iterable[str], what: str, last: str = "and") -> str:
    """Say which known name comes closest, or which names there are."""
    names = list(dict.fromkeys(known))
    if not names:
        return f"there is no {what} here"
    lower = {name.lower(): name for name in reversed(names)}
    close = get_close_matches(found.lower()[:60], list(lower), 1, 0.6)
    if close:
        return f"did you mean '{lower[close[0]]}'?"
    several = len(names) > 1
    return f"the {what}{'s are' if several else ' is'} {listed(names, last)}"


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


def faults_of(error: ValidationError, where: str, model: type[BaseModel]) -> list[str]:
    """Turn every finding of pydantic about one table of the file into a sentence.

    Parameters
    ----------
    error : ValidationError
        What pydantic found.
    where : str
        The table by name: "roof 'barn'".
    model : type
        Class the table was held against.
    """
    return [_sentence(each, where, model) for each in error.errors(include_url=False)]


def _sentence(error: ErrorDetails, where: str, model: type[BaseModel]) -> str:
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
        example = _NAMES.get(model.__name__, '"upper"') if key == "name" else _EXAMPLES.get(key)
        return f"{before}{inside}{key} is missing" + (f"; write {key} = {example}" if example else "")
    if kind == "extra_forbidden":
        inside = f"{_path(loc[:-1])}: " if len(loc) > 1 else ""
        return f"{before}{inside}{_of_another_kind(key, model) or unknown_key(key, keys_of(model))}"
    if kind == "quantity":
        return f"{before}{path} = {ctx['said']}"
    if kind in ("too_short", "too_long"):
        return f"{before}{path}: {_how_many(ctx, key)}"
    return f"{before}{path} = {quoted(found)}: {_said(error, key, found, ctx)}"


def unknown_key(key: str, known: Sequence[str]) -> str:
    """Say that a key is not known here, and which comes closest."""
    close = get_close_matches(key.lower()[:60], known, 1, 0.6)
    hint = f"did you mean {close[0]}?" if close else f"the keys here are {', '.join(known)}"
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


_PLAIN = {
    "float_type": "a number is needed",
    "float_parsing": "a number is needed",
    "finite_number": "a finite number is needed",
    "int_type": "a whole number is needed",
    "int_from_float": "a whole number is needed",
    "int_parsing_size": "a smaller number is needed",
    "bool_type": "write true or false, without quotes",
    "string_too_short": "it is empty",
}


def _said(error: ErrorDetails, key: str, found: Any, ctx: Mapping[str, Any]) -> str:
    kind = error["type"]
    example = f": {key} = {_EXAMPLES[key]}" if key in _EXAMPLES else ""
    if kind in _PLAIN:
        quotes = ", without quotes" if kind.startswith(("float_", "int_")) and isinstance(found, str) else ""
        return _PLAIN[kind] + quotes
    if kind == "literal_error":
        return _choices(found, str(ctx["expected"]).replace("'", '"'))
    if kind == "string_type":
        plain = isinstance(found, int | float) and not isinstance(found, bool)
        return f'text in quotes is needed, such as "{found}"' if plain else "text in quotes is needed"
    if kind in ("list_type", "tuple_type"):
        return f"a list is needed, in square brackets{example}"
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f"a table is needed, in curly braces{example}"
    if kind == "string_too_long":
        return f"longer than {ctx['max_length']} characters"
    if kind in ("greater_than_equal", "less_than_equal"):
        return f"it must be {'at least' if 'ge' in ctx else 'at most'} {ctx.get('ge', ctx.get('le')):g}"
    return error["msg"][:1].lower() + error["msg"][1:]


def _how_many(ctx: Mapping[str, Any], key: str) -> str:
    here = ctx["actual_length"]
    are = f"here {'is' if here == 1 else 'are'} {here}"
    if 12 in (ctx.get("min_length"), ctx.get("max_length")):
        return f"twelve values are needed, January to December, and {are}"
    if "min_length" not in ctx:
        return f"at most {ctx['max_length']} are needed, and {are}"
    return f"at least {ctx['min_length']} are needed, and {are}; write {key} = {_EXAMPLES.get(key, '[...]')}"


def _choices(found: Any, expected: str) -> str:
    choices = [choice.strip('" ') for choice in expected.replace(" or ", ", ").split(", ")]
    close = get_close_matches(str(found)[:40], choices, 1, 0.6) if isinstance(found, str) else []
    hint = f'; did you mean "{close[0]}"?' if close else ""
    return f"it is one of {expected}{hint}"
