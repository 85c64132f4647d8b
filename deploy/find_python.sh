# Sets $python to a Python that can make a virtual environment. Read by deploy/demo and deploy/check.

usable="import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))"
python=
for candidate in python3.11 python3.12 python3.13 python3.14 python3; do
    if "$candidate" -c "$usable" >/dev/null 2>&1; then
        python=$candidate
        break
    fi
done
if [ -z "$python" ]; then
    echo "Python 3.11 or newer with its venv module is needed, and none was found." >&2
    echo "On Debian and Ubuntu: apt-get install python3 python3-venv" >&2
    exit 1
fi
