# Read by the other scripts: makes .venv with everything the lock named in $1 holds.
# Needs Python 3.11 or newer with venv; on Debian as root it installs what is missing.

set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

say() { echo "$@" >&2; }

debian_install() {
    # debian_install WHY PACKAGE...: installs packages when root on Debian, else says what to do.
    why=$1
    shift
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        apt-get update -qq >/dev/null
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null
    else
        say "Missing: $why. Please install it first (on Debian, as root: apt-get install $*) and run this again."
        return 1
    fi
}

find_python() {
    for candidate in python3.11 python3.12 python3.13 python3 /usr/bin/python3; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$candidate"
            return 0
        fi
    done
    return 1
}

set_up() {
    # set_up LOCK: a virtual environment with exactly that lock, and this checkout on its path.
    lock=locks/$1.txt
    stamp=.venv/.set-up-$1-$(cat "$lock" pyproject.toml | cksum | tr ' ' '-')
    [ -f "$stamp" ] && return 0
    python=$(find_python) || {
        debian_install "Python 3.11 or newer" python3 python3-venv || exit 1
        python=$(find_python) || { say "Python 3.11 or newer is needed."; exit 1; }
    }
    if [ ! -x .venv/bin/pip ]; then
        rm -rf .venv
        if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
            debian_install "Python's venv module" python3-venv || exit 1
            python=/usr/bin/python3
        fi
        "$python" -m venv .venv
    fi
    say "Setting up ($1): this happens once and takes a minute or so."
    .venv/bin/pip install --quiet --disable-pip-version-check --require-hashes -r "$lock"
    .venv/bin/pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
    touch "$stamp"
}
