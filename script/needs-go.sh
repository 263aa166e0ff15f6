#!/bin/sh
# Says in one sentence when Go is missing or older than go.mod asks for.
set -u

need=$(awk '$1 == "go" { print $2; exit }' go.mod)
if ! command -v go >/dev/null 2>&1; then
	echo "Underpin needs Go $need or newer and found none; it is at https://go.dev/dl/." >&2
	exit 1
fi
have=$(GOTOOLCHAIN=local go version | awk '{ print $3 }')
case $have in
go[0-9]*) ;;
*) exit 0 ;; # built from source: its owner knows
esac
awk -v have="${have#go}" -v need="$need" 'BEGIN {
	split(have, h, /[^0-9]+/)
	split(need, n, /[^0-9]+/)
	for (i = 1; i <= 2; i++) {
		if (h[i] + 0 > n[i] + 0) exit 0
		if (h[i] + 0 < n[i] + 0) exit 1
	}
	exit 0
}' || {
	echo "Underpin needs Go $need or newer and found ${have#go}; a newer one is at https://go.dev/dl/." >&2
	exit 1
}
