# make demo    the main job on an example, into build/demo
# make test    everything that must hold before main moves: style, types, docs, tests, deliberate errors
# make docs    the documentation, into build/docs        make docs-pages  write the pages that code generates
# make bench   times, cold and warm                      make format      let ruff put the code in order
# make clean   throw away what was made here (.venv too)
# Without make: python tools/bootstrap.py core, then .venv/bin/python -m lodestring demo build/demo

BIN := .venv/bin
JOBS ?= 2
DEMO ?= build/demo

# What is set outside must not reach into .venv. Tests run in several processes, so each keeps to one thread.
unexport PYTHONPATH PYTHONHOME
export PYTHONNOUSERSITE := 1
test bench: export OMP_NUM_THREADS := 1
test bench: export OPENBLAS_NUM_THREADS := 1

.PHONY: demo test docs docs-pages bench format lowest requirements clean core tools system

demo: core
	$(BIN)/python -m lodestring demo $(DEMO)

test: system tools
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/sphinx-build -q -W --keep-going -d build/doctrees docs build/docs
	$(BIN)/python -m pytest -n $(JOBS) --durations=8 --cov

docs: tools
	$(BIN)/python tools/generate_docs.py
	$(BIN)/sphinx-build -q -W --keep-going -d build/doctrees docs build/docs
	@echo "docs: build/docs/index.html"

docs-pages: tools
	$(BIN)/python tools/generate_docs.py

bench: tools
	$(BIN)/python benchmarks/run_all.py

format: tools
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

# What the last full run was tested with: names and versions, no addresses.
requirements: tools
	$(BIN)/python tools/pin.py

# The tests once more, with the lowest versions that pyproject.toml allows, in an environment of their own.
lowest: tools
	$(BIN)/python -m venv --clear build/lowest
	$(BIN)/python tools/lowest_versions.py > build/lowest.txt
	build/lowest/bin/python -m pip install -qq --disable-pip-version-check -c build/lowest.txt -e ".[dev,parts,witness]"
	OMP_NUM_THREADS=1 build/lowest/bin/python -m pytest -n $(JOBS) -p no:cacheprovider --ignore=tests/wrong

core:
	@sh tools/bootstrap.sh core

tools:
	@sh tools/bootstrap.sh test

system:
	@sh tools/bootstrap.sh system

# The lock of a set-up that may be running (build/.bootstrap.lock) is left alone.
clean:
	rm -rf build/* dist .venv .coverage .coverage.* .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find src tests tools benchmarks docs -name __pycache__ -type d -prune -exec rm -rf {} +
