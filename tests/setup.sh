# Sourced by demo/run and tests/run: a private virtual environment, made once and again when
# pyproject.toml changes. $1: the project's folder; $2: what pip installs ("." or ".[test]").
set_up() {
    root=$(CDPATH= cd -- "$1" && pwd)
    case $2 in
        .) venv=$root/.venv-demo ;;
        *) venv=$root/.venv-tests ;;
    esac
    python=${PYTHON:-}
    if [ -z "$python" ]; then
        for candidate in python3.13 python3.12 python3.11 python3; do
            if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
                python=$candidate
                break
            fi
        done
    fi
    if [ -z "$python" ]; then
        echo "Python 3.11 or newer is needed (set PYTHON to its path)" >&2
        exit 2
    fi
    stamp=$venv/made-for
    wanted=$(cksum < "$root/pyproject.toml")
    if [ ! -f "$stamp" ] || [ "$(cat "$stamp")" != "$wanted" ]; then
        echo "setting up $(basename "$venv") (once) …" >&2
        rm -rf "$venv"
        "$python" -m venv "$venv"
        "$venv/bin/python" -m pip install --quiet --disable-pip-version-check \
            --config-settings editable_mode=compat -e "$root${2#.}"  # by its path: a finder would cost each start 8 ms
        echo "$wanted" > "$stamp"
    fi
}
