"""The printable plan of a design of the page."""

from __future__ import annotations

import datetime as dt

from holdwater.page import typed
from holdwater.plan.plan import gather, page
from holdwater.plan.section import Asked
from holdwater.scenario import ScenarioFile
from holdwater.scenario.variants import Change
from holdwater.scores import score
from holdwater.simulation import simulate
from holdwater.studies.batch import Site


def plan(design: ScenarioFile, site: Site, variant: str | None, changes: list[Change]) -> str:
    """The plan as one HTML page.

    Parameters
    ----------
    design : ScenarioFile
        The design, changes applied.
    site : Site
        Its weather.
    variant : str or None
        The variant it starts from.
    changes : list of (str, object)
        Its changes, for the command that makes it again.
    """
    command = typed.command("plan", design.path.name, variant, changes)
    sets = [typed.in_one_line(change) for change in changes]
    ledger = simulate(design.scenario, site.record)
    ledger.warnings.extend([*design.warnings, *site.record.provenance.notes])
    wanted = Asked([], dt.date.today(), command, sets)
    return page(design.scenario.title, gather(design, ledger, score(ledger), wanted, site.record), wanted)
