# Two commands do everything on a fresh Debian machine with Python 3.11 and make: `make demo` and `make test`.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
STAMP  := $(VENV)/.installed
PORT   ?= 8501

.PHONY: install demo test lint bench browser lock wheel clean

install: $(STAMP)

# uv is used when it is there; without it the standard library's venv and pip do the same.
$(STAMP): requirements.lock pyproject.toml
	@if command -v uv >/dev/null 2>&1; then \
	  [ -x $(BIN)/python ] || uv venv --quiet --python $(PYTHON) $(VENV); \
	  uv pip install --quiet --python $(BIN)/python -r requirements.lock && \
	  uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation -e .; \
	else \
	  [ -x $(BIN)/python ] || $(PYTHON) -m venv $(VENV) || { \
	    echo "Python's venv module is missing: on Debian, 'apt-get install python3-venv' brings it." >&2; exit 1; }; \
	  $(BIN)/python -m pip --version >/dev/null 2>&1 || $(BIN)/python -m ensurepip --upgrade >/dev/null; \
	  $(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock && \
	  $(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .; \
	fi
	@$(BIN)/python -m compileall -q -j 0 $(VENV)/lib auditor dashboard expectations >/dev/null 2>&1 || true
	@touch $(STAMP)

demo: install
	@$(BIN)/hoodaudit demo --port $(PORT)

# Debian's Chromium, for the browser tests, where we may install it.
browser:
	@command -v chromium >/dev/null 2>&1 || { \
	  if [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then \
	    apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium fonts-dejavu-core; \
	  else echo "No chromium here and no right to install it: the browser tests will be skipped." >&2; fi; }

lint: install
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy

test: install browser lint
	@$(BIN)/python -m pytest -n 2 --dist loadfile

bench: install
	@for script in tests/benchmarks/*.py; do echo "== $$script"; $(BIN)/python $$script || exit 1; done

# Exact versions of everything, without addresses. Needs uv.
lock:
	uv pip compile pyproject.toml --group dev --python-version 3.11 --universal --no-emit-index-url --no-header --no-annotate -q -o requirements.lock

wheel: install
	@$(BIN)/python -m build --wheel --no-isolation --outdir dist .

clean:
	rm -rf $(VENV) build dist *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis
