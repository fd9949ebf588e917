# Trayward. `make` alone says what there is. Wants Python 3.11 or newer, pip and make; nothing else.
#
#   make VENV=elsewhere ...         use another folder for the environment
#   make PYTHON=/path/to/python ... use that Python to make it
#   make tests PYTEST_WORDS="-k seed -x"

VENV ?= .venv
PYTHON ?=
DEMO_WORDS ?=
PYTEST_WORDS ?=
UV_VERSION := 0.13.9

export PYTEST_WORDS
.DEFAULT_GOAL := help
.NOTPARALLEL:
SHELL := /bin/sh

# The first of these that starts and is new enough. A name on the path may be only a signpost to no Python, so each is tried.
define make-environment
	@found=""; \
	for python in $(if $(PYTHON),"$(PYTHON)",python3.11 python3 python3.12 python3.13 python3.14); do \
	  if "$$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then found="$$python"; break; fi; \
	done; \
	if [ -z "$$found" ]; then \
	  echo "Trayward needs Python 3.11 or newer, and none was found$(if $(PYTHON), at $(PYTHON))."; \
	  if command -v python3 >/dev/null 2>&1; then echo "python3 here is: $$(python3 --version 2>&1)"; fi; \
	  echo "Install Python 3.11 (on Debian or Ubuntu, as root: apt-get install python3.11 python3.11-venv),"; \
	  echo "or name one that you have: make PYTHON=/path/to/python3.11 ..."; \
	  exit 1; \
	fi; \
	"$$found" tools/environment.py --venv "$(VENV)" --for $(1)
endef

.PHONY: help demo test quick lock format bench reference clean clean-env
.PHONY: lock-check format-check lint types layers tests

help: ## Say what there is
	@echo "make WORD, where WORD is:"
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  %-11s %s\n", $$1, $$2 }' $(firstword $(MAKEFILE_LIST))
	@echo "One step of \`make test\` alone: make lock-check, format-check, lint, types, layers or tests."

demo: ## Make the environment, then Lantern Loft: two months of records, its plan, its round and its pages
	$(call make-environment,run)
	@"$(VENV)/bin/python" -m compileall -q src
	@"$(VENV)/bin/trayward" demo $(DEMO_WORDS)

test: ## Everything: lock, format, lint, types, import rules, tests
	$(call make-environment,dev)
	@"$(VENV)/bin/python" tools/check.py

quick: ## The same without the slow tests
	$(call make-environment,dev)
	@"$(VENV)/bin/python" tools/check.py --quick

lock: ## Pin the packages anew from pyproject.toml (needs network); UPGRADE=1 moves to the newest
# An environment that stands is taken as it is: after a new package in pyproject.toml it cannot fit before the lock does.
	$(if $(wildcard $(VENV)/bin/python),,$(call make-environment,dev))
	@test -x "$(VENV)/lock-tool/bin/uv" || { "$(VENV)/bin/python" -m venv "$(VENV)/lock-tool" && \
	  "$(VENV)/lock-tool/bin/python" -m pip install --quiet uv==$(UV_VERSION); }
	@PATH="$(abspath $(VENV))/lock-tool/bin:$$PATH" "$(VENV)/bin/python" tools/lock.py $(if $(UPGRADE),--upgrade)

format: ## Format every file and mend what lint can mend
	$(call make-environment,dev)
	@"$(VENV)/bin/ruff" format .
	@"$(VENV)/bin/ruff" check --fix .

lock-check format-check lint types layers tests:
	$(call make-environment,dev)
	@"$(VENV)/bin/python" tools/check.py $@

reference: ## Write docs/reference anew from the code: commands, setup keys, entries, findings
	$(call make-environment,dev)
	@"$(VENV)/bin/python" -m tools.make_reference

bench: ## Run every benchmark and write docs/benchmarks.md
	$(call make-environment,dev)
	@"$(VENV)/bin/python" -m compileall -q src
	@"$(VENV)/bin/python" -m tools.bench_table

clean: ## Take away what the checks and builds left; the environment and your farms stay
	@rm -rf .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache build dist
	@find src tests tools benchmarks -name __pycache__ -type d -prune -exec rm -rf {} +
	@echo "Caches and build leftovers are gone. The environment $(VENV) stays; \`make clean-env\` takes it away."

clean-env: ## Take the environment away, if make made it
	@if [ -f "$(VENV)/.trayward.json" ]; then rm -rf "$(VENV)" && echo "$(VENV) is gone."; \
	else echo "$(VENV) was not made by make, so it is left alone."; fi
