# What a person types here. Windows has no make: see README.md.

# Packages in which several goroutines meet, tested with the race detector.
RACE = assess,store,fleet,web,cmd/underpin

.PHONY: help run test bench fuzz lint format

help:
	@echo 'make run      the page with the demo fleet'
	@echo 'make test     all tests; as root on Debian installs what they need first'
	@echo 'make bench    the benchmarks'
	@echo 'make fuzz     every fuzz target for FOR=10s'
	@echo 'make lint     gofmt, vet, staticcheck'
	@echo 'make format   gofmt -w'

run: go
	@go run ./cmd/underpin serve --demo

test: go
	@sh script/prepare.sh
	@go run ./script/testsum -race $(RACE) -timeout 22m

bench: go
	go test -run '^$$' -bench . -benchmem ./...

FOR = 10s
fuzz: go
	@sh script/fuzz.sh $(FOR)

lint: go
	@unformatted=$$(gofmt -l .); if [ -n "$$unformatted" ]; then echo "not gofmt'd:"; echo "$$unformatted"; exit 1; fi
	go vet ./...
	go tool -modfile=tools/go.mod staticcheck ./...

format: go
	gofmt -w .

.PHONY: go
go:
	@sh script/needs-go.sh
