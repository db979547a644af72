"""The plan: its sections in the order of a reader's questions, and the one page they make."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from importlib.resources import files

from markupsafe import Markup

from holdwater import words
from holdwater.charts import look
from holdwater.ledger import Ledger
from holdwater.plan import ahead, buying, checks, drawn, droughts, grounds, held, origin, water, whatifs
from holdwater.plan.section import Asked, Matter, Section, pages, style_hash
from holdwater.scenario.file import ScenarioFile
from holdwater.scores import Scores
from holdwater.weather.record import Record

Maker = Callable[[Matter], Section | None]

SECTIONS: dict[str, Maker] = {
    "the verdict": held.front,
    "the holding": drawn.holding,
    "the years": held.years,
    "last year": droughts.last_year,
    "the worst drought": droughts.worst_drought,
    "where the water went": water.water,
    "the garden": water.garden,
    "the what-ifs": whatifs.what_ifs,
    "the next purchase": buying.next_purchase,
    "roofs and tanks of other sizes": buying.sizes,
    "the outlook": ahead.lies_ahead,
    "the site checks": checks.site,
    "the cautions": checks.cautions,
    "the assumptions": grounds.assumptions,
    "the weather": origin.weather,
    "how to make it again": origin.reproduce,
}
"""In the order of a reader's questions; one that does not apply gives nothing."""

PAPERS = ("letter", "a4")
ROLES = {
    "ink": look.INK,
    "faint": look.FAINT,
    "grid": look.GRID,
    "paper": look.PAPER,
    "water": look.WATER_LINE.colour,
    "shade": look.SHADE.colour,
    "dry": look.UNSERVED.colour,
    "covered": look.COVERED.colour,
    "caution": look.RESERVE.colour,
}


def gather(
    file: ScenarioFile,
    ledger: Ledger,
    scores: Scores,
    asked: Asked,
    record: Record,
    step: Callable[[str], None] | None = None,
) -> list[Section]:
    """Make every section that applies.

    Parameters
    ----------
    file : ScenarioFile
        The scenario.
    ledger : Ledger
        Its run.
    scores : Scores
        What the run says.
    asked : Asked
        What the reader wants.
    record : Record
        The weather; it may reach beyond the run, for the outlook.
    step : callable, optional
        Called with the name of each section before it is made.

    Raises
    ------
    InputError
        What the tanks hold cannot be, or the site table is at fault.
    """
    matter = Matter(file, ledger, scores, asked, record)
    made = []
    for name, maker in SECTIONS.items():
        if step is not None:
            step(name)
        found = maker(matter)
        if found is not None:
            made.append(found)
    return made


def page(title: str, sections: Iterable[Section], asked: Asked, paper: str | None = None) -> str:
    """Put the sections on one page that needs nothing else.

    Parameters
    ----------
    title : str
        Of the holding.
    sections : iterable of Section
        In their order; the first one stands under the title.
    asked : Asked
        Knows the day.
    paper : str, optional
        "letter" or "a4" for a page of that size; without it the printer decides.
    """
    front, *others = sections
    style = stylesheet(title, paper)
    return (
        pages()
        .get_template("page.html")
        .render(
            title=title,
            written=words.on(asked.on),
            front=front,
            sections=others,
            style=Markup(style),
            style_hash=style_hash(style),
        )
    )


def stylesheet(title: str, paper: str | None = None) -> str:
    """The style of the page: colours by role, and the title for the head of printed pages.

    Raises
    ------
    ValueError
        The paper is unknown.
    """
    if paper is not None and paper not in PAPERS:
        raise ValueError(f"paper {paper!r} is none of {', '.join(PAPERS)}")
    colours = "".join(f"--{role}:{colour};" for role, colour in ROLES.items())
    css = files("holdwater.plan").joinpath("templates", "plan.css").read_text("utf-8")
    sheet = f"@page{{size:{paper}}}" if paper else ""
    head = f'@page{{@top-left{{content:"{spelt(words.plain(title))}"}}}}'
    return f":root{{{colours}}}\n{css}\n{head}\n@page:first{{@top-left{{content:none}}}}\n{sheet}\n"


def spelt(text: str) -> str:
    r"""Write a text for a style sheet, every sign but letters and digits of ASCII by its number: "\26 "."""
    return "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text)
