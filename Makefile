# Everything that is done with the project, at a desk and in CI alike. `make` prints this list.

SHELL := bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

PYTHON ?= $(or $(shell command -v python3.11),$(shell command -v python3))
PORT ?= 8000
# Passed on: `make test ARGS="tests/core -k bounds"`, `make bench ARGS=drawing`.
ARGS ?=
export PYTHON

RUN := .venv/bin/python
INSTALLED := .venv/installed
SECRET_KEY_FILE := .data/secret-key
BROWSER_TESTS := $(wildcard tests/browser/test_*.py)

.PHONY: help
help: ## print this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-15s %s\n", $$1, $$2 }' Makefile

.PHONY: install
install: $(INSTALLED) $(SECRET_KEY_FILE) ## make .venv with the locked packages, and a secret key for this machine

$(INSTALLED): .ci/requirements.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
		|| { echo 'Python 3.11 or newer is needed; name one: make install PYTHON=python3.11'; exit 1; }
	@.ci/packages python
	$(PYTHON) -m venv .venv
	$(RUN) -m pip install --quiet --disable-pip-version-check --require-hashes --requirement .ci/requirements.txt
	@touch $@

$(SECRET_KEY_FILE):
	@mkdir -p $(@D)
	@umask 077 && $(PYTHON) -c 'import secrets; print(secrets.token_urlsafe(50))' > $@

.PHONY: port
port:
	@if (exec 3<> /dev/tcp/127.0.0.1/$(PORT)) 2> /dev/null; then \
		echo 'Port $(PORT) is taken, maybe by this demo in another window. Choose another: make demo PORT=8001'; \
		exit 1; \
	fi

.PHONY: demo
demo: port install ## run the site with its invented cables on 127.0.0.1, PORT=8000 unless said otherwise
	@.ci/packages drawing || echo 'The site starts without it and says so where a drawing would be.'
	$(RUN) manage.py migrate --verbosity 0
	$(RUN) manage.py collectstatic --no-input --verbosity 0
	$(RUN) manage.py demo
	@echo 'Corelore is at http://127.0.0.1:$(PORT)/ until you press Ctrl-C.'
	@exec .venv/bin/gunicorn --bind 127.0.0.1:$(PORT) --workers 2 --threads 4 --preload --no-control-socket catalogue.wsgi

.PHONY: test
test: install ## run the tests on the store that DATABASE_URL names, SQLite by default
	@.ci/packages drawing curl $(if $(BROWSER_TESTS),browser)
	$(RUN) -m pytest -n auto --maxprocesses 4 --dist worksteal $(ARGS)

.PHONY: test-postgres
test-postgres: ## run the tests on a PostgreSQL database that is made for the run
	@.ci/packages machines
	@.ci/with-postgresql $(MAKE) test

.PHONY: bench
bench: install ## measure every figure the project promises, each beside its bound
	@.ci/packages drawing
	$(RUN) -m tests.bench $(ARGS)

.PHONY: screenshots
screenshots: install ## take the pictures in README.md anew, of a site of its own that goes at the end
	@.ci/packages drawing browser
	$(RUN) -m tests.pictures

.PHONY: lint
lint: style types ## check style and types

.PHONY: style
style: install
	$(RUN) -m ruff check .
	$(RUN) -m ruff format --check .

.PHONY: types
types: install
	$(RUN) -m mypy

.PHONY: format
format: install ## bring the code into the project's format
	$(RUN) -m ruff check --fix .
	$(RUN) -m ruff format .

.PHONY: lock
lock: install ## pin what pyproject.toml asks for with its hashes; ARGS=--upgrade for the newest of the rest
	CUSTOM_COMPILE_COMMAND='make lock' $(RUN) -m piptools compile --quiet --extra dev --strip-extras \
		--generate-hashes --allow-unsafe --no-emit-index-url --no-emit-find-links --no-emit-trusted-host \
		--output-file .ci/requirements.txt $(ARGS) pyproject.toml

.PHONY: ci
ci: ## run what continuous integration runs
	@.ci/run
