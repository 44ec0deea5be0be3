# Two commands do everything: `make demo` and `make test`. Each sets up what it needs.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
FIRMWARE := $(VENV)/firmware/firmware.bin

.PHONY: demo test benchmark soak clean

demo: $(VENV)/.installed
	$(BIN)/pattress demo

test: $(VENV)/.installed-test $(FIRMWARE)
	sh tests/debian-packages.sh
	$(BIN)/python -m pytest -n 2 --dist loadscope --no-loadscope-reorder --durations 25

soak: $(VENV)/.installed-test
	$(BIN)/python -m pytest -m soak

benchmark: $(VENV)/.installed-test $(FIRMWARE)
	$(BIN)/python -m tests.benchmarks

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.installed: pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[demo]'
	touch $@

$(VENV)/.installed-test: pyproject.toml tests/board-stubs.sh | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	sh tests/board-stubs.sh $(VENV)
	touch $@ $(VENV)/.installed

$(FIRMWARE): tests/firmware/build.sh $(wildcard tests/firmware/board/*) | $(VENV)/.installed-test
	-sh tests/firmware/build.sh $(VENV)/firmware

clean:
	rm -rf $(VENV) out
