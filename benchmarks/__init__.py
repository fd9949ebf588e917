"""Measurements: `python -m benchmarks.NAME`, or with `--json` a list of figures; `make bench` runs them all."""
