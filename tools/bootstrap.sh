#!/bin/sh
# Finds a Python new enough and hands over to bootstrap.py. POSIX sh: nothing else is known to be there yet.
set -eu
cd "$(dirname "$0")/.."

find_python() {
    # Each candidate is run, not only looked up: a shim of a version manager exists for versions that are not there.
    for name in python3 python3.14 python3.13 python3.12 python3.11 python; do
        if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then
            command -v "$name"
            return 0
        fi
    done
    return 1
}

if ! python=$(find_python); then
    line="apt-get install python3 python3-venv"
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        echo "set-up: no Python 3.11 or newer found; $line"
        DEBIAN_FRONTEND=noninteractive apt-get -qq update </dev/null
        DEBIAN_FRONTEND=noninteractive apt-get -qq -y install --no-install-recommends python3 python3-venv </dev/null >/dev/null
    fi
    if ! python=$(find_python); then
        echo "set-up: Python 3.11 or newer must be on the path; none was found; on a Debian-like system try: $line" >&2
        exit 1
    fi
fi

exec "$python" tools/bootstrap.py "$@"
