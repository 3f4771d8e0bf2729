# make demo   runs the packaging job of the demo on a fresh machine and says where the proof page is
# make test   passes the tests on a fresh machine
# make silver renews the kept copies of our own output (tests/silver/files) and says what changed
# make docs   writes the parts of docs/reference.md that are made of the questions
# Each sets up what it needs: a virtual environment in .venv with the pinned versions of the lock files.
# The README gives the same steps without make.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: help demo demos test silver docs lint types bench lock browser clean

help:
	@sed -n 's/^# make/make/p' Makefile

$(VENV)/made:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "screenproof needs Python 3.11 or newer; name one: make PYTHON=python3.12 demo"; exit 1; }
	$(PYTHON) -m venv $(VENV) || \
	  { echo "no venv module: on Debian and Ubuntu, apt-get install python3-venv"; exit 1; }
	@touch $@

$(VENV)/run: requirements.lock pyproject.toml $(VENV)/made
	$(BIN)/pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/pip install --quiet --disable-pip-version-check --no-deps --editable .
	@touch $@

$(VENV)/dev: requirements-dev.lock $(VENV)/run
	$(BIN)/pip install --quiet --disable-pip-version-check -r requirements-dev.lock
	@touch $@

demo: $(VENV)/run
	$(BIN)/screenproof run profiles_demo/packaging.toml || test $$? -eq 1
	@echo "Open the proof page: profiles_demo/out/packaging/index.html"

demos: demo
	$(BIN)/screenproof run profiles_demo/product_shots.toml || test $$? -eq 1
	$(BIN)/screenproof run profiles_demo/stage_set.toml || test $$? -eq 1
	$(BIN)/screenproof run profiles_demo/ink_side.toml || test $$? -eq 1

# The page is tested in a real browser: Chromium, from the system or, failing that, from Playwright.
browser: $(VENV)/dev
	@command -v chromium >/dev/null || command -v chromium-browser >/dev/null || command -v google-chrome >/dev/null || \
	  { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium >/dev/null; } || \
	  $(BIN)/python -m playwright install chromium

test: $(VENV)/dev browser
	$(BIN)/python -m pytest -n auto --dist loadfile -q

silver: $(VENV)/dev
	$(BIN)/python -m tests.silver.renew

docs: $(VENV)/run
	$(BIN)/python docs/make_reference.py

lint: $(VENV)/dev
	$(BIN)/ruff check .

types: $(VENV)/dev
	$(BIN)/mypy

bench: $(VENV)/dev
	$(BIN)/python benchmarks/proof_speed.py
	$(BIN)/python benchmarks/whole_commands.py
	$(BIN)/python benchmarks/recipes.py
	$(BIN)/python benchmarks/press.py
	$(BIN)/python benchmarks/population.py
	$(BIN)/python benchmarks/doubt.py

# After a change of dependencies in pyproject.toml.
lock: $(VENV)/made
	$(BIN)/pip install --quiet pip-tools
	$(BIN)/pip-compile -q --upgrade --no-emit-index-url --no-emit-find-links --no-header --annotation-style=line \
	  --strip-extras -o requirements.lock pyproject.toml
	$(BIN)/pip-compile -q --upgrade --no-emit-index-url --no-emit-find-links --no-header --annotation-style=line \
	  --strip-extras --extra dev -c requirements.lock -o requirements-dev.lock pyproject.toml

clean:
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache
