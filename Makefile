# Everything a person does here. `make help` lists the targets.
SHELL := bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
MAKEFLAGS += --no-print-directory

VERSION ?= $(shell git describe --always --dirty 2>/dev/null || echo dev)
DATA ?= data
PORT ?= 8377
GO_FILES := go.mod go.sum $(shell find domain sync server pwa/core -name '*.go' -o -name '*.journal' -o -name 'openapi.json' | sort)
PHONE_FILES := pwa/build.mjs pwa/index.html pwa/package.json pwa/manifest.webmanifest $(shell find pwa/src pwa/icons -type f | sort)
CORE_FILES := go.mod go.sum $(shell find domain sync pwa/core -name '*.go' -not -name '*_test.go' | sort)
WASM_TEST = GOOS=js GOARCH=wasm go test -exec "$$(go env GOROOT)/lib/wasm/go_js_wasm_exec"
LOGS := bin/test
say = printf '\n== %s\n'

# every target in small letters is a task, not a file
.PHONY: $(shell sed -n 's/^\([a-z-]*\):.*/\1/p' Makefile)

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z-]+:.*## / {printf "  make %-13s %s\n", $$1, $$2}' Makefile

demo: build ## build everything and serve an invented shop; prints three sign-in links
	@bin/hoppertally demo --port $(PORT)

run: build ## build everything and serve your own shop from the folder data/
	@bin/hoppertally serve --data $(DATA) --addr 127.0.0.1:$(PORT)

build: bin/hoppertally ## build the phone's program and the one binary, bin/hoppertally

tools: # say what is missing before anything starts
	@command -v go >/dev/null || { echo 'Go is missing: install Go $(shell sed -n 's/^go //p' go.mod) or newer, then run this again.'; exit 1; }
	@command -v node >/dev/null || { echo 'Node.js is missing: install version 20 or newer, then run this again.'; exit 1; }
	@command -v npm >/dev/null || { echo 'npm is missing: it comes with Node.js; install it, then run this again.'; exit 1; }
	@node -e 'if (+process.versions.node.split(".")[0] < 20) { console.log("Node.js " + process.version + " is too old: install version 20 or newer."); process.exit(1) }'

pwa/node_modules/.package-lock.json: pwa/package-lock.json pwa/package.json | tools
	@$(say) 'npm packages'
	@cd pwa && npm ci --no-audit --no-fund
	@touch $@

pwa/dist/sw.js: pwa/node_modules/.package-lock.json $(CORE_FILES) $(PHONE_FILES)
	@$(say) 'phone: core to WebAssembly, page, worker, service worker'
	@cd pwa && VERSION=$(VERSION) node build.mjs

bin/hoppertally: pwa/dist/sw.js $(GO_FILES) pwa/embed.go
	@$(say) 'server: one binary'
	@mkdir -p bin && go build -trimpath -ldflags='-s -w -X main.version=$(VERSION)' -o $@ ./server
	@ls -l $@ | awk '{printf "   bin/hoppertally, %.1f MB\n", $$5 / 1e6}'

release: tools ## build with the smallest download (slow compression)
	@rm -f pwa/dist/sw.js && RELEASE=1 $(MAKE) build

test: build check test-go test-sim test-wasm test-phone test-browser engines-missing ## set everything up and run every test
	@cat $(LOGS)/*.count | awk '{p += $$1; f += $$2} END {printf "\n%d passed, %d failed\n", p, f}'

check: tools pwa/node_modules/.package-lock.json ## formatting, vet, staticcheck, dead functions, types, generated files
	@$(say) 'formatting, vet, dead functions, types'
	@out=$$(gofmt -l domain sync server pwa); [ -z "$$out" ] || { echo "gofmt -w $$out"; exit 1; }
	@go vet ./...
	@go tool staticcheck ./...
	@out=$$($(dead)); [ -z "$$out" ] || { echo "no program needs:"; echo "$$out"; exit 1; }
	@go run ./pwa/gen -check
	@cd pwa && npm run --silent format-check && npm run --silent types

# functions that nothing but tests calls, neither in a program of this machine nor in one
# of the phone: a package that both hold must have them dead in both
natives = $$(go list -f '{{if eq .Name "main"}}{{.ImportPath}}{{end}}' ./...)
phones = ./pwa/core ./pwa/core/sums
for-phones = GOOS=js GOARCH=wasm
dead = set -e; tool=$$(go tool -n deadcode); { \
	go list -deps $(natives) | sed 's/^/native /'; $(for-phones) go list -deps $(phones) | sed 's/^/phone /'; \
	$$tool $(natives) | sed 's/^/native /'; $(for-phones) $$tool $(phones) | sed 's/^/phone /'; } | awk ' \
	NF == 2 { holds[$$1, $$2]; next } \
	{ build = $$1; other = build == "native" ? "phone" : "native"; package = "hoppertally/" $$2; sub("/[^/]*$$", "", package); sub("^[a-z]* ", "") } \
	!((other, package) in holds) || $$0 in once { print } \
	{ once[$$0] }'

test-go: tools ## Go tests with the race detector
	@$(say) 'Go tests, with the race detector'
	@mkdir -p $(LOGS) && go test -race -v -timeout 15m ./... 2>&1 | tee $(LOGS)/go.log | grep -E '^(ok|FAIL|panic|--- FAIL)' || true
	@$(call count-go,go)

test-sim: tools ## 20 000 simulated shops with every fault, and 20 over 30 days; see sim
	@$(say) 'simulated shops'
	@mkdir -p $(LOGS) && { $(simulate) -seeds 20000 || true; $(simulate) -long -seeds 20; } 2>&1 | tee $(LOGS)/sim.log | grep -E '^(ok|FAIL|panic|--- FAIL)|seeds in' || true
	@$(call count-go,sim)

test-wasm: tools ## the tests of domain and sync again, under WebAssembly
	@$(say) 'domain and sync under WebAssembly'
	@mkdir -p $(LOGS) && $(WASM_TEST) -v -timeout 15m $$(go list ./domain/... ./sync/...) 2>&1 | tee $(LOGS)/wasm.log | grep -E '^(ok|FAIL|panic|--- FAIL)' || true
	@$(call count-go,wasm)

count-go = p=$$(grep -cE '^ *--- PASS' $(LOGS)/$(1).log); f=$$(grep -cE '^ *--- FAIL' $(LOGS)/$(1).log || true); echo "$$p $$f" > $(LOGS)/$(1).count; \
	if [ "$$f" != 0 ] || grep -qE '^(FAIL|panic:)' $(LOGS)/$(1).log; then grep -E -B 30 '^ *--- FAIL|^(FAIL|panic:)' $(LOGS)/$(1).log | tail -200 || true; exit 1; fi; echo "   $$p passed"

test-phone: pwa/node_modules/.package-lock.json ## TypeScript unit tests
	@$(say) 'TypeScript unit tests'
	@mkdir -p $(LOGS) && cd pwa && node test.mjs 2>&1 | tee ../$(LOGS)/phone.log | grep -E '^(not ok|✖|ℹ (tests|pass|fail)|# (tests|pass|fail))' || true
	@$(call count-node,phone)

test-browser: build ## the shift without signal and its faults, in headless Chromium on the built binary
	@$(say) 'browser tests'
	@mkdir -p $(LOGS) && cd pwa && npm run --silent e2e 2>&1 | tee ../$(LOGS)/browser.log | grep -E '^(not ok|✖|✔|ℹ (tests|pass|fail)|# (tests|pass|fail))' || true
	@$(call count-node,browser)

test-engines: build ## a shift over HTTPS in Chromium, Firefox and WebKit
	@$(say) 'three browser engines'
	@mkdir -p $(LOGS) && cd pwa && node --test --test-concurrency=1 e2e/engines/*.test.mjs 2>&1 | tee ../$(LOGS)/engines.log | grep -E '^(not ok|✖|✔|ok|ℹ (tests|pass|fail)|# (tests|pass|fail))| is not installed' || true
	@$(call count-node,engines)
	@awk '{printf "\n%d passed, %d failed\n", $$1, $$2}' $(LOGS)/engines.count; rm $(LOGS)/engines.count

engines-missing: # say which engines this machine lacks
	@for p in firefox-esr:firefox-esr WebKitWebDriver:webkit2gtk-driver xvfb-run:xvfb certutil:libnss3-tools; do command -v "$${p%%:*}" >/dev/null || echo "   not on this machine: $${p##*:}"; done
	@echo '   Firefox and WebKit are tried by `make test-engines` (Debian, as root: apt-get install chromium firefox-esr webkit2gtk-driver xvfb xauth libnss3-tools)'

count-node = p=$$(awk '/^(ℹ|\#) pass /{print $$3}' $(LOGS)/$(1).log); f=$$(awk '/^(ℹ|\#) fail /{print $$3}' $(LOGS)/$(1).log); echo "$${p:-0} $${f:-1}" > $(LOGS)/$(1).count; \
	if [ "$${f:-1}" != 0 ]; then cat $(LOGS)/$(1).log; exit 1; fi

pictures: build ## make the screenshots of README anew
	@cd pwa && node e2e/pictures.mjs

bench: build ## fold, colour order, the core in WebAssembly and Chromium, replay beside ledger
	@go test ./domain/... -run '^$$' -bench 'Fold|Decode|Order' -benchmem -cpu 1
	@echo 'the same fold under WebAssembly, collecting as the core, without wasm-opt:' && GOGC=300 GOMEMLIMIT=192MiB $(WASM_TEST) ./domain/... -run '^$$' -bench 'Fold|Decode' | grep ^Bench
	@cd pwa && node e2e/bench-core.mjs
	@go run ./server/bench replay bin/hoppertally 1000000

bench-server: ## how fast the server acknowledges, beside one commit per request and badger alone
	@go test ./server/store ./server/api -run '^$$' -bench . -benchmem | tee $(or $(TMPDIR),/tmp)/hoppertally-bench.txt
	@awk '/entries\/s/ { for (i = 2; i <= NF; i++) if ($$i == "entries/s") v[$$1] = $$(i-1); sub(/-[0-9]+$$/, "", $$1) } \
		{ for (k in v) { n = k; sub(/-[0-9]+$$/, "", n); r[n] = v[k] } } \
		END { printf "\nsingle entries, 64 connections: %.0f/s, %.1f times one commit each (%.0f/s); asked: 10000/s and 2 times\n", r["BenchmarkSingles"], r["BenchmarkSingles"] / r["BenchmarkSinglesCommitEach"], r["BenchmarkSinglesCommitEach"]; \
			printf "batches of 500: %.0f/s, %.2f of badger alone (%.0f/s); asked: 0.20\n", r["BenchmarkBatchesOf500"], r["BenchmarkBatchesOf500"] / r["BenchmarkBadgerBatchesOf500"], r["BenchmarkBadgerBatchesOf500"]; \
			printf "single entries over HTTP, clients on the same processors: %.0f/s\n", r["BenchmarkSinglesOverHTTP"] }' $(or $(TMPDIR),/tmp)/hoppertally-bench.txt

flips: ## flip PLACES bytes (default 500) of a data folder, one at a time: each is found or harmless
	@go test ./server -run TestAFlippedByteIsFoundOrHarmless -v -timeout 60m -args -flips $(or $(PLACES),500)

fills: ## fill a small disk to the last byte within seconds ROUNDS times (default 20), while phones push
	@go test ./server -run TestTheDiskIsFilledWithinSecondsUnderLoad -v -timeout 60m -args -fills $(or $(ROUNDS),20)

kill: ## kill the server at work ROUNDS times (default 200): nothing acknowledged is missing or doubled
	@go test ./server -run TestNothingAcknowledgedIsLostWhenTheProgramIsKilled -v -timeout 60m -args -kills $(or $(ROUNDS),200)

put-backs: ## put an older copy of the data folder back under load, ROUNDS times (default 20): the phones refill it
	@go test ./server -run TestAFolderThatIsPutBackUnderLoadIsRefilled -v -timeout 60m -args -put-backs $(or $(ROUNDS),20)

bench-history: build ## a new phone in a shop with five years of history
	@cd pwa && node e2e/bench-history.mjs

bench-start: build ## cold start and time to saved, in Chromium
	@cd pwa && node e2e/bench-start.mjs

load: build ## 500 phones that listen, 50 pushing at once: how long a push takes, how much memory it needs
	@go run ./server/load -bin bin/hoppertally -phones 500 -pushing 50 -seconds $${SECONDS_OF_LOAD:-30}

bench-sync: build ## 10 000 entries pushed and pulled, beside PouchDB and RxDB, in Chromium
	@cd pwa/e2e/bench-sync && npm ci --no-audit --no-fund && node run.mjs

sim: tools ## simulate 20 000 shops with every fault; FROM=50000 SEEDS=100 others, SEED=7 one, FAULTS=drop,crash with these only
	@$(simulate) $(call which-seeds,20000)

sim-long: tools ## 200 shops of 8 phones over 30 days; FROM, SEEDS, SEED and FAULTS as above
	@$(simulate) -long $(call which-seeds,200)

which-seeds = $(if $(SEED),-from $(SEED) -seeds 1,-from $(or $(FROM),1) -seeds $(or $(SEEDS),$(1)))

simulate = go test ./sync/simtest -run '^TestNothingIsEverLost$$' -count 1 -timeout 2h -v $(if $(FAULTS),-faults $(FAULTS))

fuzz: ## feed every decoder of bytes from outside, FUZZTIME each (default 20s)
	@go list ./domain/... ./sync/... ./server/... | while read -r pkg; do \
		for f in $$(go test "$$pkg" -list '^Fuzz' 2>/dev/null | grep '^Fuzz' || true); do \
			echo "== $$pkg $$f"; go test "$$pkg" -run '^$$' -fuzz "^$$f\$$" -fuzztime $${FUZZTIME:-20s} -fuzzminimizetime 1x; done; done

fuzz-label: ## read ten million labels made out of the published ones
	@go test ./domain/stock -run '^TestLabelsOfAllSorts$$' -labels 10000000 -v -timeout 30m

clean: ## remove what was built (not your data)
	@rm -rf bin pwa/build pwa/node_modules && find pwa/dist -mindepth 1 -not -name .gitkeep -delete
