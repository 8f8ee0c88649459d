"""Run as `python -m pic2chart`."""

from pic2chart.cli import main

if __name__ == "__main__":
    main()
