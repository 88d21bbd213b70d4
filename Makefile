# `make demo` and `make test` do all the set-up they need, on a fresh machine with
# Python 3.11 or newer.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: demo test check tools clean

demo: .venv/ready
	$(BIN)/fieldmap plan demo_site

test: .venv/ready-dev tools
	$(BIN)/python -m pytest --numprocesses auto --dist loadfile

# Format, lint, types and import contracts: what .ci/run asks before the tests.
check: .venv/ready-dev
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

.venv/ready: pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "fieldmap needs Python 3.11 or newer; name one with PYTHON=..."; exit 1; }
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

.venv/ready-dev: .venv/ready
	$(BIN)/python -m pip install --quiet --group dev
	touch $@

# What the tests need from outside Python: a browser, and GDAL's own tools as a peer.
tools:
	@tests/install-tools

clean:
	rm -rf .venv demo_site/.fieldmap demo_site/plan
