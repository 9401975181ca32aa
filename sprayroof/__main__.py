"""python -m sprayroof."""

from sprayroof.cli import main

main(prog_name="sprayroof")
