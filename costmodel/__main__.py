"""Runs the command line: python -m costmodel."""

from .command.main import main

main(prog_name="costmodel")
