# Overbar. `make help` prints the targets.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.DEFAULT_GOAL := help
.PHONY: help setup models browser demo test bench lint format lock clean

help: ## Print this help.
	@grep -hE '^[a-z]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z]+):.*## (.*)/\1|\2/' | \
	  while IFS='|' read -r target text; do printf '  make %-9s %s\n' "$$target" "$$text"; done

$(VENV)/.installed: requirements.lock pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo 'Overbar needs Python 3.11 or newer: set PYTHON=/path/to/python3.11.'; exit 1; }
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV) || \
	  { echo 'No virtual environment could be made: install the venv module of this Python.'; exit 1; }
	$(BIN)/python -m pip install --quiet --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation --editable .
	@touch $@

setup: $(VENV)/.installed models ## Make the virtual environment and the nets (once).

models: $(VENV)/.installed ## Fetch and convert the two nets into the user's cache (once).
	$(BIN)/python -m overbar.film.weights

browser:
	@PYTHON=$(PYTHON) sh scripts/chromium.sh

demo: setup ## Set up, build the invented coach's records and open the desk.
	$(BIN)/overbar demo

test: setup browser ## Set up and run every test, the browser tests included.
	$(BIN)/python -m pytest -n 2 --dist loadgroup

bench: setup ## Print the benchmarks: ratios within one run, and this machine's figures.
	$(BIN)/python -m benchmarks

lint: $(VENV)/.installed ## Check style, types and the import contract.
	$(BIN)/ruff check src tests benchmarks
	$(BIN)/ruff format --check src tests benchmarks
	$(BIN)/mypy
	$(BIN)/lint-imports

format: $(VENV)/.installed ## Put the code into the house format.
	$(BIN)/ruff check --fix src tests benchmarks
	$(BIN)/ruff format src tests benchmarks

lock: ## Make requirements.lock anew from pyproject.toml (needs uv).
	uv pip compile pyproject.toml --extra set-up --extra test --universal --python-version 3.11 --generate-hashes \
	  --no-emit-index-url --no-header --output-file requirements.lock

clean: ## Remove the virtual environment and everything made by tools.
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
