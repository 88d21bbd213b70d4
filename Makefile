# `make demo` and `make test` do all the set-up they need, on a fresh machine with
# Python 3.11 or newer.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: docs reference fuzz faults audit release demo region test test-fast test-plan test-browser test-docs check check-scripts language mutants pictures tools clean

demo: .venv/ready
	$(BIN)/fieldmap plan demo_site

# Many parcels: a small region on the demo's own valley.
region: .venv/ready-region
	$(BIN)/python demo_site/make_demo_region.py demo_region
	$(BIN)/fieldmap region demo_region

# All tests, or one tier: arrays and small sites in memory; whole plans, regions and the command;
# pages in a browser; what README and docs show. The files are shared out among the cores.
# What Python compiles of them is kept, whatever the surroundings say, for the next run.
PYTEST := PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest --numprocesses auto --dist loadfile --no-loadscope-reorder

test: .venv/ready-dev tools
	$(PYTEST)

test-fast: .venv/ready-dev tools
	$(PYTEST) layers fieldmap tests/unit

test-plan test-browser test-docs: test-%: .venv/ready-dev tools
	$(PYTEST) tests/$*

# Format, lint, types and import contracts: what .ci/run asks before the tests.
check: .venv/ready-dev check-scripts
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# Types and lint of the page's scripts; node is a wheel among the tools for developers.
SCRIPTS := .ci/scripts
check-scripts: .venv/ready-dev $(SCRIPTS)/node_modules/ready
	PATH="$(abspath $(BIN)):$$PATH" $(SCRIPTS)/node_modules/.bin/tsc --project $(SCRIPTS)/tsconfig.json
	PATH="$(abspath $(BIN)):$$PATH" $(SCRIPTS)/node_modules/.bin/tsc --project $(SCRIPTS)/tsconfig.page.json
	PATH="$(abspath $(BIN)):$$PATH" $(SCRIPTS)/node_modules/.bin/tsc --project $(SCRIPTS)/tsconfig.region.json
	PATH="$(abspath $(BIN)):$$PATH" $(SCRIPTS)/node_modules/.bin/eslint --config $(SCRIPTS)/eslint.config.mjs \
	  --max-warnings 0 fieldmap/show/map/scripts fieldmap/serve/page fieldmap/region/parcels/page

$(SCRIPTS)/node_modules/ready: $(SCRIPTS)/package-lock.json .venv/ready-dev
	cd $(SCRIPTS) && PATH="$(abspath $(BIN)):$$PATH" npm ci --no-audit --no-fund
	touch $@

# Campaigns that try to break reading, and to lose a plan; another SEED draws others. What
# is found lies in .fuzz/ and belongs into a test.
SEED ?= 1
CASES ?= 20000
fuzz: .venv/ready-dev
	cd tests/support && ../../$(BIN)/python -m campaign.fuzz --cases $(CASES) --seed $(SEED) \
	  --found ../../.fuzz

faults: .venv/ready-dev
	cd tests/support && ../../$(BIN)/python -m campaign.faults --seed $(SEED)

# Whether faults of the installed libraries are known; it needs a network, and fails where
# one cannot be asked about.
audit: .venv/ready-dev
	@if $(BIN)/python -m pip install --quiet pip-audit; \
	then $(BIN)/python -m pip freeze --exclude-editable > .audit.txt && \
	  $(BIN)/python -m pip_audit --strict --no-deps --disable-pip --progress-spinner off -r .audit.txt; \
	else echo "pip-audit could not be installed: audit where there is a network"; fi

# Source archive and wheel, the same bytes each time, with their hashes.
release: .venv/ready-dev
	rm -rf dist
	SOURCE_DATE_EPOCH=$$(git log -1 --format=%ct) $(BIN)/python -m build --no-isolation --outdir dist .
	cd dist && sha256sum *.tar.gz *.whl > SHA256SUMS && cat SHA256SUMS

# All texts into the catalogue of one language, new or there already: `make language
# CODE=es`. Translations are kept, and what is no longer said goes. No dates and no line
# numbers, so that the same texts give the same bytes.
CATALOGUE = fieldmap/show/text/languages/$(CODE).po
language: .venv/ready-dev
	@test -n "$(CODE)" || { echo "name a language: make language CODE=es"; exit 1; }
	$(BIN)/pybabel -q extract --mapping-file pyproject.toml --no-location --sort-output \
	  --header-comment "# Texts of fieldmap." --output-file .texts.pot fieldmap
	@test -e $(CATALOGUE) || \
	  $(BIN)/pybabel -q init --input-file .texts.pot --output-file $(CATALOGUE) --locale $(CODE)
	$(BIN)/pybabel -q update --input-file .texts.pot --output-file $(CATALOGUE) \
	  --locale $(CODE) --no-fuzzy-matching --ignore-obsolete --no-wrap
	@grep -vE '^"(Project-Id-Version|Report-Msgid-Bugs-To|POT-Creation-Date|PO-Revision-Date|Last-Translator|Language-Team|Generated-By):' \
	  $(CATALOGUE) > .texts.pot && cp .texts.pot $(CATALOGUE) && rm .texts.pot

# Faults planted in what computes and decides, each against the tests that cover its line:
# `make mutants SEED=2 NUMBER=50 IN=fieldmap/decide/pegging/bays.py`. Takes an hour.
SEED ?= 1
NUMBER ?= 200
IN ?= fieldmap/decide fieldmap/analyse layers
mutants: .venv/ready-dev
	$(BIN)/python -m pip install --quiet --group mutants
	$(BIN)/python tests/support/mutants.py --seed $(SEED) --number $(NUMBER) $(IN)

# The documentation as a site in `.site`, which asks no other host. Warnings are errors, and
# so are links within it that lead nowhere.
docs: .venv/ready-docs
	$(BIN)/python -m sphinx -q --builder html --fail-on-warning --keep-going \
	  --doctree-dir .site/.read docs .site

# The pages, and the tables in pages, that come from the code.
reference: .venv/ready
	$(BIN)/python docs/generate

# The pictures in README, from a plan of the demo site.
pictures: .venv/ready-dev tools
	$(BIN)/python demo_site/pictures.py

.venv/ready: pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "fieldmap needs Python 3.11 or newer; name one with PYTHON=..."; exit 1; }
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --upgrade pip
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

.venv/ready-region: .venv/ready
	$(BIN)/python -m pip install --quiet --editable ".[region]"
	touch $@

.venv/ready-dev: .venv/ready
	$(BIN)/python -m pip install --quiet --group dev
	$(BIN)/python -m pip install --quiet --editable ".[region]"
	touch $@

.venv/ready-docs: .venv/ready
	$(BIN)/python -m pip install --quiet --group docs
	touch $@

# What the tests need from outside Python: a browser, and GDAL's own tools as a peer.
tools:
	@tests/install-tools

clean:
	rm -rf .venv .site .mutants $(SCRIPTS)/node_modules demo_site/.fieldmap demo_site/plan demo_region
