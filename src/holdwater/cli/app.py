"""The program: every command by its name, in the order in which --help lists them."""

from __future__ import annotations

from typing import Annotated

import typer

from holdwater.cli import file_commands, plan_commands, run_commands, study_commands, weather

app = typer.Typer(
    name="holdwater",
    help="Does the plan hold water? Runs your own roofs, tanks and draws through real past weather, day by day.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.add_typer(weather.app, name="weather")


@app.callback(invoke_without_command=True)
def root(
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.")] = False,
) -> None:
    """Say which version this is."""
    if version:
        from holdwater import __version__

        print(f"holdwater {__version__}")
        raise typer.Exit


app.command("new")(file_commands.new)
app.command("check")(file_commands.check)
app.command("tables")(file_commands.tables)
app.command("run")(run_commands.run)
app.command("outlook")(run_commands.outlook)
app.command("site")(plan_commands.site)
app.command("plan")(plan_commands.plan)
app.command("open")(plan_commands.open_)
app.command("calibrate")(run_commands.calibrate)
app.command("region")(run_commands.region)
study_commands.register(app)
