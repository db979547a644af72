"""The command: it reads, calls and shows, and computes nothing itself."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command; a user's mistake ends in a few plain lines and exit code 2 or 3."""
    from holdwater.cli.app import app
    from holdwater.errors import HoldwaterError, InputError

    try:
        app()
    except InputError as fault:
        _say(fault.faults)
        sys.exit(fault.exit_code)
    except HoldwaterError as fault:
        _say(str(fault).splitlines())
        sys.exit(fault.exit_code)
    except KeyboardInterrupt:
        _say(["stopped; what was there before is untouched"])
        sys.exit(130)
    except BrokenPipeError:  # the reader of our output has gone, as with `| head`
        sys.stderr.close()
        sys.exit(0)


def _say(lines: list[str]) -> None:
    for line in lines:
        print(f"holdwater: {line}", file=sys.stderr)
