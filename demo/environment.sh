# Read by demo/run and tests/run: finds Python, makes or reuses the virtual environment .venv in the
# checkout, and leaves its interpreter in $python. Everything it says goes to stderr, so that the
# output of a command stays clean. Needs nothing but a POSIX shell and Python 3.11 or newer with venv.

say() { printf 'wallpeg: %s\n' "$*" >&2; }
refuse() { say "$*"; exit 1; }

find_python() {
    for candidate in python3 python3.14 python3.13 python3.12 python3.11; do
        if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            command -v "$candidate"
            return
        fi
    done
    refuse "Python 3.11 or newer was not found; on Debian 12 or newer install it with: apt install python3 python3-venv"
}

make_venv() {
    "$1" -c 'import venv, ensurepip' 2>/dev/null || refuse \
        "Python's venv is missing; install it with: apt install python3-venv   (then run this again)"
    say "making a virtual environment in .venv (only the first time)"
    "$1" -m venv --clear "$root/.venv" >"$root/.venv-log" 2>&1 || refuse \
        "the virtual environment could not be made: $(tail -n 1 "$root/.venv-log")"
    mv "$root/.venv-log" "$root/.venv/log"
}

# What has to be the same for an installation to be used again.
fingerprint() {
    { printf '%s\n' "$root" "$1"; "$python" -V; cat "$root/pyproject.toml"; } | cksum
}

install_extra() { # $1: the extra of pyproject.toml
    say "installing what it needs (only the first time, or when pyproject.toml changed)"
    "$python" -m pip install --disable-pip-version-check --no-input -e "$root[$1]" >"$root/.venv/log" 2>&1 &
    installing=$!
    trap 'kill $installing 2>/dev/null; exit 130' INT TERM
    while kill -0 $installing 2>/dev/null; do printf '.' >&2; sleep 2; done
    printf '\n' >&2
    trap - INT TERM
    wait $installing || refuse "the installation failed; is there a network? pip's last words: $(
        grep -m 1 '^ERROR' "$root/.venv/log" || tail -n 1 "$root/.venv/log")"
}

use_environment() { # $1: the extra of pyproject.toml
    python="$root/.venv/bin/python"
    "$python" -c 'import pip' 2>/dev/null || { base=$(find_python) || exit 1; make_venv "$base"; }
    stamp="$root/.venv/stamp-$1"
    if [ ! -f "$stamp" ] || [ "$(fingerprint "$1")" != "$(cat "$stamp")" ]; then
        install_extra "$1"
        fingerprint "$1" >"$stamp"
    fi
}
