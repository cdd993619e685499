# `make demo` and `make test` set everything up by themselves; nothing is installed outside .venv.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
DEVICE_FILES := $(wildcard shared_calc/*.py firmware/*.py firmware/*/*.py firmware/*/*/*.py)
# The pyserial handler runs on the PC only.
DEVICE_FILES := $(filter-out %/protocol_virtual.py,$(DEVICE_FILES))

.PHONY: demo test lint clean

$(VENV)/.ready: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade "pip>=25.1"
	$(BIN)/python -m pip install --quiet -c constraints.txt -e . --group dev
	touch $@

demo: $(VENV)/.ready
	$(BIN)/python -m scalewright demo

test: lint
	$(BIN)/python -m pytest

lint: $(VENV)/.ready
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/python tests/device_language.py $(DEVICE_FILES)

clean:
	rm -rf $(VENV)
