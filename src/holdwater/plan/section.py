"""What the plan is made of: the run it tells of, its sections, and the pictures in them."""

from __future__ import annotations

import datetime as dt
import hashlib
from base64 import b64encode
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from holdwater import words
from holdwater.ledger import Ledger
from holdwater.scenario.file import ScenarioFile
from holdwater.scenario.schema import Scenario
from holdwater.scores import Scores
from holdwater.units import System
from holdwater.weather.record import Record

_FIGURE_ENDS = "</figure>"


@dataclass(frozen=True)
class Asked:
    """What the reader of the plan wants in it.

    Attributes
    ----------
    holding : list of str
        Water in the tanks now, as `holdwater outlook` takes it; empty for no outlook.
    on : date
        The day the plan is written, and the first day of the outlook.
    command : str
        The command that wrote the plan.
    changes : list of str
        Changes of the scenario given with the command.
    """

    holding: list[str]
    on: dt.date
    command: str
    changes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Matter:
    """What every section is told of.

    Attributes
    ----------
    file : ScenarioFile
        The scenario and its text.
    ledger : Ledger
        Its run.
    scores : Scores
        What the run says.
    asked : Asked
        What the reader wants.
    record : Record
        The weather; it may reach beyond the run, for the outlook.
    """

    file: ScenarioFile
    ledger: Ledger
    scores: Scores
    asked: Asked
    record: Record

    @property
    def scenario(self) -> Scenario:
        """The holding."""
        return self.file.scenario

    @property
    def system(self) -> System:
        """Units shown."""
        return self.file.scenario.show_units


@dataclass(frozen=True)
class Picture:
    """A drawing, its finding, and the sentence for those who do not see it.

    Attributes
    ----------
    name : str
        One word; every id in the drawing begins with it.
    finding : str
        The title: what it shows.
    alt : str
        Alternative text.
    svg : Markup
        The drawing.
    """

    name: str
    finding: str
    alt: str
    svg: Markup


@dataclass(frozen=True)
class Section:
    """One question of the reader, and its answer.

    Attributes
    ----------
    key : str
        Its anchor.
    title : str
        The question.
    html : Markup
        The answer, drawings included.
    charts : tuple of Picture
        The drawings in it.
    answer : str
        The answer in one line, for the first page; "" where there is none so short.
    """

    key: str
    title: str
    html: Markup
    charts: tuple[Picture, ...] = ()
    answer: str = ""

    @property
    def opening(self) -> Markup:
        """The figure it begins with, to be kept on one page with its title; empty where it begins with words."""
        end = self.html.find(_FIGURE_ENDS)
        starts = self.html.lstrip().startswith("<figure")
        return self.html[: end + len(_FIGURE_ENDS)] if starts else Markup("")

    @property
    def rest(self) -> Markup:
        """What follows the opening."""
        return self.html[len(self.opening) :]


@lru_cache(maxsize=1)
def pages() -> Environment:
    """The templates; every value put into them is escaped."""
    env = Environment(
        loader=PackageLoader("holdwater.plan"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["visible"] = visible
    env.filters["lines"] = lines
    env.filters["plain"] = words.plain
    env.filters["ucfirst"] = capital
    return env


def section(key: str, title: str, *charts: Picture, answer: str = "", **told: Any) -> Section:
    """Fill the template named after a section.

    Parameters
    ----------
    key : str
        Name of the template and anchor of the section.
    title : str
        Its question.
    *charts : Picture
        Drawings, by name in the template as `charts.<name>`.
    answer : str, optional
        The answer in one line.
    **told : object
        Everything else the template names.
    """
    by_name = {chart.name: chart for chart in charts}
    html = pages().get_template(f"{key}.html").render(charts=by_name, **told)
    return Section(key, title, Markup(html), charts, answer)


def finding(said: str) -> str:
    """What a finding says beyond how many dry days the holding had: all behind the first semicolon.

    Parameters
    ----------
    said : str
        "Larkfield had 128 dry days in 30 years; 10 of 36 combinations have none."
    """
    _, semicolon, rest = said.partition("; ")
    return capital(rest) if semicolon else said


def capital(said: str) -> str:
    """Begin with a capital letter, and leave the others as they are."""
    return f"{said[:1].upper()}{said[1:]}"


def visible(text: str) -> Markup:
    """Show text as it stands; signs that cannot be seen, or that turn the line, become their number.

    Parameters
    ----------
    text : str
        Anything; line breaks and tabs are kept.
    """
    shown = "".join(c if c.isprintable() or c in "\n\t" else f"\N{WHITE SQUARE}U+{ord(c):04X}" for c in text)
    return escape(shown)


def lines(shown: Markup) -> Markup:
    """Make each line of a text an element of its own, so that paper can show where one goes on.

    Parameters
    ----------
    shown : Markup
        From `visible`.
    """
    each = shown.splitlines(keepends=True)
    return Markup("").join(Markup('<span class="line">{}</span>').format(line) for line in each)


def style_hash(style: str) -> str:
    """What a content security policy asks for to let a style sheet in."""
    return "sha256-" + b64encode(hashlib.sha256(style.encode()).digest()).decode()
