# Countershade: `make help` lists what there is.
SHELL := /bin/bash
.DEFAULT_GOAL := help
PORT ?= 8000
SERVE ?= 1
# Interpreter for the set-up; empty = the first suitable of python3, python3.13, python3.12, python3.11.
PYTHON ?=
export PYTHON
# Arguments for pytest: make test ARGS="tests/ledger -x"
ARGS ?=
py := .venv/bin/python
# The demo lives apart: its own folder, its own database, nothing of an installation's settings.
demo_env := env -u DATABASE_URL -u REDIS_URL -u COUNTERSHADE_HOSTS COUNTERSHADE_DEMO=1 \
  COUNTERSHADE_VAR_DIR=$(CURDIR)/var/demo COUNTERSHADE_PUBLIC_URL=http://localhost:$(PORT)

.PHONY: help demo serve test lint bench shots messages lock verifier setup setup-dev port

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "make %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

demo: port ## play the invented scenario, then serve it (PORT=8000; SERVE=0 stops before serving)
	@$(demo_env) .ci/bootstrap.sh run
	@$(demo_env) $(py) manage.py migrate --verbosity 0
	@$(demo_env) $(py) manage.py play_scenario
ifneq ($(SERVE),0)
	@$(demo_env) $(py) manage.py serve --port $(PORT)
endif

serve: port ## serve your own installation, settings from the environment (PORT=8000)
	@.ci/bootstrap.sh run
	@$(py) manage.py migrate --verbosity 0
	@$(py) manage.py serve --port $(PORT)

# Asked first: nobody should wait for the scenario to learn that the port is taken.
port:
ifneq ($(SERVE),0)
	@p=$$(command -v $(if $(PYTHON),$(PYTHON),python3)) || exit 0; "$$p" .ci/port.py "$(PORT)"
endif

test: setup-dev ## run the tests (ARGS= for pytest); PostgreSQL, Redis, Chromium where there are any
	@.ci/test.sh $(ARGS)

lint: setup-dev ## style, types, house rules and house figures
	$(py) -m ruff check .
	$(py) -m ruff format --check .
	$(py) -m mypy
	$(py) -m tests.house.figures

bench: setup-dev ## measure against the budgets; writes benchmarks/latest.json
	@$(py) -m benchmarks.run

shots: setup-dev ## pictures of every page and PDF page, into shots/
	@$(py) -m tests.browser.shots

messages: setup-dev ## collect the strings to translate into locale/*/LC_MESSAGES/django.po
	@$(py) .ci/messages.py

verifier: ## write the verifier as one file, dist/countershade-verifier.pyz; prints its SHA-256
	@$(if $(PYTHON),$(PYTHON),python3) .ci/verifier.py

lock: ## re-create the lock files (UPGRADE=1 takes newer versions)
	@.ci/lock.sh

setup:
	@.ci/bootstrap.sh run

setup-dev:
	@.ci/bootstrap.sh dev
