#!/bin/sh
# Runs every fuzz target of the module for a while: script/fuzz.sh [10s]
set -u

long=${1:-10s}
status=0
found=0
for pkg in $(go list ./...); do
	for target in $(go test -list '^Fuzz' "$pkg" | grep '^Fuzz'); do
		found=$((found + 1))
		echo "$pkg $target"
		go test -run '^$' -fuzz "^$target\$" -fuzztime "$long" "$pkg" || status=1
	done
done
if [ "$found" = 0 ]; then
	echo "No fuzz target was found." >&2
	exit 1
fi
exit $status
