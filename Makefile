# make demo    the main job on an example, into build/demo
# make test    everything that must hold before main moves: style, types, docs, tests, deliberate errors
# make docs    the documentation, into build/docs        make docs-pages  write the pages that code generates
# make coverage  what the tests reach and what not, line by line
# make bench   times, cold and warm                      make format      let ruff put the code in order
# make clean   throw away what was made here (.venv too)
# Without make: python tools/bootstrap.py core, then .venv/bin/python -m lodestring demo build/demo

BIN := .venv/bin
JOBS ?= 2
DEMO ?= build/demo
# Each process gets tests that stand together, which share what they have worked out; who is done first takes from others.
SPREAD := -n $(JOBS) --dist=worksteal

# What is set outside must not reach into .venv. Tests run in several processes, so each keeps to one thread.
unexport PYTHONPATH PYTHONHOME PYTHONDONTWRITEBYTECODE
export PYTHONNOUSERSITE := 1
test coverage bench: export OMP_NUM_THREADS := 1
test coverage bench: export OPENBLAS_NUM_THREADS := 1

.PHONY: demo test style types pages coverage docs docs-pages bench format lowest requirements clean core tools system

demo: core
	$(BIN)/python -m lodestring demo $(DEMO)

# Solids are tested apart: the finite elements of other tests bring a CAD kernel of their own, and two in one process
# end in a fault of memory.
test: system tools
	@$(MAKE) --no-print-directory -j $(JOBS) --output-sync=target style types pages
	$(BIN)/python -m pytest $(SPREAD) --durations=8 --ignore=tests/parts
	$(BIN)/python -m pytest $(SPREAD) tests/parts

# Parts of `make test` that keep one processor each busy, so they run side by side. They take .venv as it is.
style:
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types:
	$(BIN)/mypy

pages:
	$(BIN)/sphinx-build -q -W --keep-going -d build/doctrees docs build/docs

# Apart from `make test`: counting branches makes all the tests take nearly half as long again, and turns nothing red.
coverage: tools
	$(BIN)/python -m pytest $(SPREAD) --cov --ignore=tests/wrong --ignore=tests/parts
	$(BIN)/python -m pytest $(SPREAD) --cov --cov-append tests/parts

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
	OMP_NUM_THREADS=1 build/lowest/bin/python -m pytest $(SPREAD) -p no:cacheprovider --ignore=tests/wrong

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
