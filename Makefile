# make demo | test | check | bench | faults | serve | worker | clean
# Everything runs in .venv, which is made on first use from the hash-locked files in requirements/.

PYTHON ?= python3
PORT ?= 8000
VENV := .venv
BIN := $(VENV)/bin
SHELL := /bin/bash

.PHONY: demo test check bench faults serve worker clean
.DEFAULT_GOAL := help

.PHONY: help
help:
	@sed -n '1,2s/^# //p' Makefile

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Python 3.11 or newer is needed; $(PYTHON) is $$($(PYTHON) --version 2>&1). Set PYTHON=... to choose another." >&2; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  v=$$($(PYTHON) -c 'import sys; print("%d.%d" % sys.version_info[:2])'); \
	  echo "$(PYTHON) cannot make virtual environments: its venv or ensurepip module is missing." >&2; \
	  echo "On Debian or Ubuntu: sudo apt-get install python$$v-venv (or python3-venv)." >&2; exit 1; }
	$(PYTHON) -m venv $(VENV)

# A stamp for each locked file: installed once, and again when the file changes.
$(VENV)/.run: requirements/run.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r $<
	@touch $@

$(VENV)/.test: requirements/test.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r $<
	@touch $(VENV)/.run $@

$(VENV)/.browser: requirements/browser.txt | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r $<
	@touch $(VENV)/.run $(VENV)/.test $@

demo: $(VENV)/.run
	$(BIN)/python manage.py migrate --verbosity 0
	$(BIN)/python manage.py demo

test: $(VENV)/.test
	$(BIN)/python -m pytest

check: $(VENV)/.test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python manage.py makemigrations --check --dry-run
	LOFT_BASE_URL=https://loft.example $(BIN)/python manage.py check --deploy --fail-level WARNING
	$(BIN)/python manage.py spectacular --validate --fail-on-warn --file /dev/null
	$(BIN)/python -m pytest

bench: $(VENV)/.test
	@missed=0; for file in tests/bench/bench_*.py; do PYTHONPATH=. $(BIN)/python "$$file" || missed=1; done; exit $$missed

# The faults that the tests try a few times, in full.
faults: $(VENV)/.test
	$(BIN)/python -m tests.faults

# The pages and a worker for the background jobs; when one ends, or at Ctrl-C, both are stopped.
serve: $(VENV)/.run
	$(BIN)/python manage.py migrate --verbosity 0
	$(BIN)/python manage.py collectstatic --noinput --verbosity 0
	@echo "Serving on http://127.0.0.1:$(PORT)/ (Ctrl-C stops it)"
	@trap 'kill -TERM $$(jobs -p) 2>/dev/null; wait' EXIT; trap 'exit 0' INT TERM; \
	  $(BIN)/python manage.py worker & \
	  $(BIN)/gunicorn loft.wsgi --bind 127.0.0.1:$(PORT) --worker-class gthread --threads 8 --timeout 60 & \
	  wait -n

worker: $(VENV)/.run
	$(BIN)/python manage.py worker

# var/ stays: it holds the database, the keys and the mail.
clean:
	rm -rf $(VENV) .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
