# `make demo` and `make test` set everything up by themselves; nothing is installed outside this folder. Libraries are
# compiled as they are first imported, not all at once when they are installed: that takes half of the time.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

.PHONY: demo test lint benchmarks clean

$(VENV)/.ready: pyproject.toml constraints.txt
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --upgrade "pip>=25.1"
	$(BIN)/python -m pip install --quiet --no-compile -c constraints.txt -e .
	touch $@

# What only the tests need, the stubs of the boards' MicroPython among it.
$(VENV)/.ready-to-test: $(VENV)/.ready
	$(BIN)/python -m pip install --quiet --no-compile -c constraints.txt -e . --group dev
	$(BIN)/python tests/board_types.py --install
	touch $@

demo: $(VENV)/.ready
	$(BIN)/python -m scalewright demo

test: lint
	$(BIN)/python -m pytest --numprocesses auto

lint: $(VENV)/.ready-to-test
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/python tests/device_language.py
	$(BIN)/python tests/board_types.py

benchmarks: $(VENV)/.ready-to-test
	set -e; for script in benchmarks/*.py; do echo "== $$script"; $(BIN)/python $$script; done

clean:
	rm -rf $(VENV) .typings
