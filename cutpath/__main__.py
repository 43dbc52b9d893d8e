"""Run ``python -m cutpath`` like the ``cutpath`` command."""

from cutpath.cli import main

main()
