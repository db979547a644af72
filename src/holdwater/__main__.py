"""`python -m holdwater` is the command `holdwater`."""

from holdwater.cli import main

main()
