#!/bin/sh
# Sets up a private environment in .venv, starts the workbench from it, and runs its tests.
set -eu

root=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
venv=$root/.venv
python=$venv/bin/python
stamp=$venv/set-up-for
picture=subslab-workbench.png

usage() {
    cat <<'END'
usage: sh setup.sh setup [EXTRA,...]   make or refresh .venv (extras: test, dev)
       sh setup.sh run [ARGUMENT...]   set up if needed, then open the workbench
       sh setup.sh test [ARGUMENT...]  set up if needed, then run pytest
END
}

say() { printf '%s\n' "$*"; }
fail() { printf 'setup.sh: %s\n' "$*" >&2; exit 1; }

# --- system packages (Debian and its relatives)

# Runs a command as root, or fails at once where that would need a password.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        sudo -n "$@"
    else
        return 1
    fi
}

apt_install() { as_root env DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends "$@" >/dev/null 2>&1; }

# Names the packages of its arguments that are not installed. Since the change to 64-bit time a library may carry "t64".
missing_packages() {
    for package in "$@"; do
        case $(dpkg-query -W -f=' ${db:Status-Status} ' "$package" "${package}t64" 2>/dev/null || :) in
            *" installed "*) ;;
            *) printf '%s ' "$package" ;;
        esac
    done
}

# Installs what is missing of its arguments; names what could not be installed and goes on.
system_packages() {
    [ "$(uname -s)" = Linux ] && command -v dpkg-query >/dev/null 2>&1 || return 0
    missing=$(missing_packages "$@")
    [ -n "$missing" ] || return 0
    if command -v apt-get >/dev/null 2>&1 && as_root true; then
        say "Installing system packages: $missing"
        # shellcheck disable=SC2086  # a list of words
        if ! apt_install $missing; then
            as_root apt-get update -qq >/dev/null 2>&1 || :
            # One by one: a release without one of them still gets the others.
            for package in $missing; do apt_install "$package" || :; done
        fi
        # shellcheck disable=SC2086
        missing=$(missing_packages $missing)
    fi
    [ -z "$missing" ] || say "Missing system packages, please install: sudo apt-get install $missing"
}

# --- the virtual environment

new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; }
makes_venvs() { "$1" -c 'import ensurepip, venv' 2>/dev/null; }

# Sets $base to a Python that can make the environment.
find_python() {
    candidates=${PYTHON:-python3.13 python3.12 python3.11 python3}
    base=
    for candidate in $candidates; do
        new_enough "$candidate" || continue
        [ -n "$base" ] || base=$candidate
        if makes_venvs "$candidate"; then
            base=$candidate
            return 0
        fi
    done
    [ -n "$base" ] || fail "Python 3.11 or newer is needed and none was found (looked for: $candidates); on Debian 12 or newer: apt-get install python3 python3-venv"
    # Debian keeps the venv module in a package of its own, one for its default Python and one for each other.
    case $base in
        python3) venv_package=python3-venv ;;
        *) venv_package=python$("$base" -c 'import sys; print("%d.%d" % sys.version_info[:2])')-venv ;;
    esac
    system_packages "$venv_package"
    makes_venvs "$base" || fail "$base cannot make virtual environments: its venv module is missing; on Debian: apt-get install $venv_package"
}

# What an up-to-date environment was made from: the two lists, and the place (an environment cannot be moved).
wanted_key() { cat "$root/pyproject.toml" "$root/.apt-packages" | cksum | tr '\n' ' '; printf '%s\n' "$root"; }

# Is every extra of the comma-separated list $1 already installed for the present lists?
up_to_date() {
    [ -f "$stamp" ] && [ -x "$python" ] || return 1
    { IFS= read -r made_from && IFS= read -r extras_there; } <"$stamp" || return 1
    [ "$made_from" = "$(wanted_key)" ] || return 1
    for extra in $(printf '%s' "$1" | tr , ' '); do
        case ,$extras_there, in *",$extra,"*) ;; *) return 1 ;; esac
    done
}

set_up() {
    extras=$1
    if up_to_date "$extras"; then
        return 0
    fi
    # shellcheck disable=SC2046  # one word per package
    system_packages $(cat "$root/.apt-packages")
    if ! { [ -x "$python" ] && new_enough "$python"; }; then
        find_python
        say "Making $venv with $("$base" -V)"
        "$base" -m venv --clear "$venv"
    fi
    "$python" -m pip --version >/dev/null 2>&1 || "$python" -m ensurepip --upgrade >/dev/null
    # Keep the extras that an earlier call asked for.
    if [ -f "$stamp" ]; then
        extras=$(printf '%s,%s' "$extras" "$(sed -n 2p "$stamp")" | tr , '\n' | sed '/^$/d' | sort -u | tr '\n' ,)
        extras=${extras%,}
        rm -f "$stamp"
    fi
    say "Installing the workbench${extras:+ with: $extras}"
    (cd "$root" && "$python" -m pip install --quiet --disable-pip-version-check --editable ".${extras:+[$extras]}")
    "$python" -c 'import PySide6.QtWidgets' 2>/dev/null ||
        say "Qt does not load yet: it needs the system libraries that Debian packages as $(tr '\n' ' ' <"$root/.apt-packages")"
    { wanted_key; printf '%s\n' "$extras"; } >"$stamp"
}

# --- the three commands

no_screen() { [ "$(uname -s)" = Linux ] && [ -z "${DISPLAY:-}" ] && [ -z "${WAYLAND_DISPLAY:-}" ]; }

[ $# -gt 0 ] || { usage >&2; exit 2; }
command=$1
shift
case $command in
    setup)
        set_up "${1:-}"
        say "Ready. Start the workbench with: sh setup.sh run"
        ;;
    run)
        set_up ""
        if [ $# -eq 0 ] && no_screen; then
            QT_QPA_PLATFORM=offscreen "$python" -m workbench show --picture "$picture"
            say "There is no screen here, so the window was drawn into $picture."
            say "For the window itself run the same command in a desktop session (DISPLAY or WAYLAND_DISPLAY set; over ssh: ssh -X)."
        else
            exec "$python" -m workbench "$@"
        fi
        ;;
    test)
        set_up test
        cd "$root"
        [ $# -gt 0 ] || set -- -n 2
        export QT_QPA_PLATFORM=offscreen
        exec "$python" -m pytest "$@"
        ;;
    help | -h | --help) usage ;;
    *)
        usage >&2
        exit 2
        ;;
esac
