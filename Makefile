# Everything from a fresh clone: `make demo` runs the main job, `make test` runs every check, `make bench` measures.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

.PHONY: demo test bench clean

demo: $(VENV)/.ready
	$(BIN)/phrasewright demo

test: $(VENV)/.ready-to-test
	$(BIN)/python tools/check.py

bench: $(VENV)/.ready-to-test
	$(BIN)/python benchmarks/run.py
	$(BIN)/python benchmarks/bench_band.py
	$(BIN)/python benchmarks/bench_live.py
	$(BIN)/python benchmarks/bench_desk.py
	$(BIN)/python benchmarks/bench_studio.py
	$(BIN)/python -m pip install --quiet --editable '.[bench]'
	$(BIN)/python -m pip install --quiet --no-deps basic-pitch
	$(BIN)/python benchmarks/bench_listen.py --memory

$(VENV)/.ready: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --editable .
	@touch $@

$(VENV)/.ready-to-test: $(VENV)/.ready
	$(BIN)/python -m pip install --quiet --editable '.[test]'
	@touch $@

clean:
	rm -rf $(VENV) packs .mypy_cache .ruff_cache .pytest_cache .hypothesis
