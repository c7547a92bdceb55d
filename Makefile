# The two commands: `make run` serves Coxswain from this folder, `make test` proves it. Everything else is a part of these.
# The order matters and is only here: npm ci, vite, cargo. build.rs never runs npm.

DATA ?= ./data
LISTEN ?=
STAMPS := .stamps
CLIENT_SOURCES := $(shell find client-web -type d \( -name node_modules -o -name dist \) -prune -o -type f -print 2>/dev/null) \
    $(shell find client-web/src -type d 2>/dev/null)
SERVE_OPTIONS := --data $(DATA) $(if $(LISTEN),--listen $(LISTEN))

.PHONY: run test build client tools lint unit growth oracle review-checks browser hunt bench review-bench first-task pictures album endurance clean
.DELETE_ON_ERROR:

## Build what changed and serve with the records in ./data (make run DATA=… LISTEN=…).
run: build
	exec target/release/coxswain serve $(SERVE_OPTIONS)

## The release binary, with the web client inside.
build: tools client
	cargo build --release --package coxswain

## The web client, built only when something in it changed.
client: client-web/dist/index.html

client-web/dist/index.html: $(STAMPS)/client-packages $(CLIENT_SOURCES)
	cd client-web && npm run build
	touch $@

$(STAMPS)/client-packages: client-web/package-lock.json | tools
	cd client-web && npm ci --no-audit --no-fund
	mkdir -p $(STAMPS) && touch $@

$(STAMPS)/browser-packages: tests/browser/package-lock.json | tools
	cd tests/browser && npm ci --no-audit --no-fund
	mkdir -p $(STAMPS) && touch $@

# Says in a sentence what a bare machine lacks, before anything fails in a harder way.
tools:
	@tests/checks/tools.sh

## Everything, from formatting to browsers. One cargo profile (dev) for all of it.
test: tools lint client unit oracle growth review-checks browser
	@echo "All checks passed."

# Clippy and the tests embed the client, so that it comes first.
lint: client
	cargo fmt --all --check
	tests/checks/engine-purity.sh
	tests/checks/hazards.sh
	cargo clippy --workspace --all-targets -- -D warnings
	cd client-web && npm run check && npm run size

# The generated TypeScript types are compared with the committed file by one of the Rust tests, and the published checks
# (tests/published) are Rust tests too.
unit: client
	cd client-web && npm test
	cargo build --workspace --bins
	cargo test --workspace

# A second planner in Python beside `coxswain replay`, over the same random timelines each time, and over as many others as asked
# for (make oracle COUNT=… SEED=…). Faults are planted in it, and must be found.
oracle: COUNT = 2000
oracle: SEED = 1
oracle: client
	cargo build --workspace --bins
	python3 tests/oracle/differential.py --seed $(SEED) --count $(COUNT)

# The weight formulas of the child protocols beside the WHO's medians, from a pinned package in an environment of its own.
growth: $(STAMPS)/growth-packages
	tests/growth/.venv/bin/python tests/growth/compare.py

$(STAMPS)/growth-packages: tests/growth/requirements.txt
	@python3 -c 'import tomllib, venv' 2>/dev/null || { echo "The growth check needs Python 3.11 or newer with venv." >&2; exit 1; }
	python3 -m venv --clear tests/growth/.venv
	tests/growth/.venv/bin/pip install --quiet --disable-pip-version-check --no-deps --require-hashes -r tests/growth/requirements.txt
	mkdir -p $(STAMPS) && touch $@

# Exports and trends beside pandas, scipy and fhir.resources, from pinned packages in an environment of their own.
review-checks: COUNT = 330
review-checks: SEED = 1
review-checks: client $(STAMPS)/review-packages
	cargo build --workspace --bins
	tests/review/.venv/bin/python tests/review/check.py --seed $(SEED) --count $(COUNT)

$(STAMPS)/review-packages: tests/review/requirements.txt
	@python3 -c 'import tomllib, venv' 2>/dev/null || { echo "The review checks need Python 3.11 or newer with venv." >&2; exit 1; }
	python3 -m venv --clear tests/review/.venv
	tests/review/.venv/bin/pip install --quiet --disable-pip-version-check --no-deps --only-binary :all: --require-hashes -r tests/review/requirements.txt
	mkdir -p $(STAMPS) && touch $@

browser: client $(STAMPS)/browser-packages
	tests/checks/chromium.sh
	cargo build --workspace --bins
	cd tests/browser && npm test

## How long a plan takes, printed: a code of 60 minutes with 500 events, folded, planned and shown to seven roles.
bench:
	cargo bench --package coxswain-engine --bench replan

## How long review takes to answer over 20,000 generated codes, printed (make review-bench CODES=…).
CODES ?= 20000
review-bench:
	COXSWAIN_CODES=$(CODES) cargo bench --package coxswain --bench review

## How long until a page shows its first task, printed: the processor slowed four times, over loopback.
first-task: client $(STAMPS)/browser-packages
	tests/checks/chromium.sh
	cargo build --workspace --bins
	cd tests/browser && node first-task.js

## Hunt for what must never be, over timelines that no run has tried before (make hunt CASES=… SEED=…).
CASES ?= 5000
SEED ?= $(shell date +%s)
hunt:
	@echo "seed $(SEED)"
	COXSWAIN_CASES=$(CASES) COXSWAIN_SEED=$(SEED) cargo test --package coxswain-engine --lib invariants

## Make the README's pictures anew from a real run.
pictures: client $(STAMPS)/browser-packages
	tests/checks/chromium.sh
	cargo build --workspace --bins
	cd tests/browser && npm run pictures

## The album: every role in every state, tablet and phone, on one page (tests/output/album/index.html), and which pictures changed
## since they were accepted. make album ACCEPT=1 accepts them, ONLY=trauma,clear takes some scenes.
album: client $(STAMPS)/browser-packages
	tests/checks/chromium.sh
	cargo build --workspace --bins
	cd tests/browser && ACCEPT=$(ACCEPT) ONLY=$(ONLY) npm run album

## An hour's code at speed: memory and late frames of three tablets, printed (make endurance SPEED=30 MINUTES=60).
endurance: client $(STAMPS)/browser-packages
	tests/checks/chromium.sh
	cargo build --workspace --bins
	cd tests/browser && npm run endurance

clean:
	rm -rf $(STAMPS) tests/growth/.venv tests/review/.venv client-web/dist client-web/node_modules tests/browser/node_modules tests/output target
