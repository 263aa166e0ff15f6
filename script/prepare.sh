#!/bin/sh
# Installs what the tests need and the machine lacks: as root on Debian, without
# a question. Without root, or elsewhere, it does nothing and asks for nothing:
# the tests that lack a tool are then skipped, and the end of the run lists them
# with what to install. It never fails: what could not be had shows there.
set -u

wanted=
want() { wanted="$wanted $*"; }

have() { command -v "$1" >/dev/null 2>&1; }

have chromium || have chromium-browser || have chrome || want chromium fonts-dejavu-core

server=
for initdb in /usr/lib/postgresql/*/bin/initdb; do
	[ -x "$initdb" ] && server=yes
done
[ -n "$server" ] || have initdb || want postgresql-15

have pdftotext || want poppler-utils

have gcc || have cc || want gcc libc6-dev

[ -n "$wanted" ] || exit 0
[ "$(id -u)" = 0 ] && [ -e /etc/debian_version ] && have apt-get || exit 0

export DEBIAN_FRONTEND=noninteractive
export RUNLEVEL=1 # installing a server shall not start it; the tests start their own

install() {
	apt-get install -y -q --no-install-recommends \
		-o DPkg::Lock::Timeout=120 -o Acquire::Retries=3 "$@" </dev/null >>"$log" 2>&1
}

log=$(mktemp) || exit 0
trap 'rm -f "$log"' EXIT
echo "Installing for the tests:$wanted"
# shellcheck disable=SC2086 # a list of names
if install $wanted; then exit 0; fi
apt-get update -q </dev/null >>"$log" 2>&1
# shellcheck disable=SC2086
if install $wanted; then exit 0; fi

# One by one, so that one name the release does not have stops no other.
for name in $wanted; do
	install "$name" && continue
	[ "$name" = postgresql-15 ] && install postgresql && continue
	echo "Could not install $name:"
	tail -n 3 "$log"
done
exit 0
