# Read by the other scripts: makes .venv with exactly what the lock named in $1 holds.
# Needs Python 3.11 or newer with venv; on Debian as root it installs what is missing.

set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
cd "$root"

NOT_COMPILED='tests|sklearn|networkx|pip|setuptools|pkg_resources|narwhals|joblib'

say() { echo "$@" >&2; }

debian_install() {
    # debian_install WHY PACKAGE...: installs packages when root on Debian, else says what to do.
    why=$1
    shift
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        apt-get update -qq >/dev/null || say "The list of Debian's packages could not be renewed; trying with the one there is."
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null && return 0
        say "Missing: $why; apt-get could not install $*. See to the network or the package sources and run this again."
    else
        say "Missing: $why. Please install it first (on Debian, as root: apt-get install $*) and run this again."
    fi
    return 1
}

new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }

find_python() {
    for candidate in python3.11 python3.12 python3.13 python3 /usr/bin/python3; do
        if command -v "$candidate" >/dev/null 2>&1 && new_enough "$candidate"; then
            command -v "$candidate"
            return 0
        fi
    done
    return 1
}

sum_of() { cksum <"$1" | tr ' ' '-'; }

sound() {
    # Whether .venv works and everything in it came from locks that are still the same. A lock that
    # has changed is never installed over older packages: what it no longer names would stay.
    .venv/bin/python -m pip --version >/dev/null 2>&1 || return 1
    found=1
    for mark in .venv/.lock-*; do
        [ -f "$mark" ] || continue
        named=${mark#.venv/.lock-}
        named=${named%%-*}
        [ -f "locks/$named.txt" ] && [ "$mark" = ".venv/.lock-$named-$(sum_of "locks/$named.txt")" ] || return 1
        found=0
    done
    return $found
}

need_python() {
    # Sets `python` to one that can make environments; on Debian as root it installs what is missing.
    python=$(find_python) || {
        debian_install "Python 3.11 or newer" python3 python3-venv || exit 1
        python=$(find_python) || { say "Python 3.11 or newer is needed; Debian's python3 is older here."; exit 1; }
    }
    if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
        debian_install "Python's venv module" python3-venv || exit 1
        python=/usr/bin/python3
        new_enough "$python" || { say "Python 3.11 or newer is needed; Debian's python3 is older here."; exit 1; }
    fi
}

make_venv() {
    need_python
    rm -rf .venv
    "$python" -m venv .venv
}

set_up() {
    # set_up LOCK: a virtual environment with exactly that lock, and this checkout on its path.
    lock=locks/$1.txt
    lock_mark=.venv/.lock-$1-$(sum_of "$lock")
    project_mark=.venv/.project-$(sum_of pyproject.toml)
    [ -f "$lock_mark" ] && [ -f "$project_mark" ] && return 0
    sound || make_venv
    say "Setting up ($1): this happens once and takes a minute or so."
    if [ ! -f "$lock_mark" ]; then
        .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-compile --require-hashes -r "$lock"
        # On all processors, where pip takes one, and without what is never imported or only seldom: half of it all.
        .venv/bin/python -m compileall -q -j 0 -x "/($NOT_COMPILED)/" .venv/lib >/dev/null 2>&1 || true
        touch "$lock_mark"
    fi
    # The page is built by those scripts that need it, not by each installation.
    WALLWORTHY_PAGE=skip .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
    .venv/bin/python -m compileall -q src/wallworthy  # whatever the environment says of writing byte code
    rm -f .venv/.project-*
    touch "$project_mark"
}

build_page() {
    # The page, built once for these sources. Node: the system's, or one from PyPI.
    .venv/bin/python hatch_build.py && return 0
    say "The page was not built; everything else works without it."
    return 1
}

find_browser() {
    for candidate in "${WALLWORTHY_BROWSER:-}" chromium chromium-browser; do
        [ -n "$candidate" ] && command -v "$candidate" >/dev/null 2>&1 && { command -v "$candidate"; return 0; }
    done
    return 1
}
