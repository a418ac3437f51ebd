"""`python -m planner`: the same as the command `rangeferry`."""

from planner.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
