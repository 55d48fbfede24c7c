# Sourced by deploy/run and deploy/test: goes to the project's folder and sets `python` to an
# interpreter that is new enough. CALLED_FROM is the folder that relative paths of options mean.
CALLED_FROM=$PWD
cd "$(dirname -- "$0")/.."
python=
for candidate in python3 python3.14 python3.13 python3.12 python3.11; do
  if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
    python=$candidate
    break
  fi
done
if [ -z "$python" ]; then
  found=$(python3 --version 2>/dev/null || echo "no python3")
  echo "$0: Python 3.11 or newer is needed; found $found. Install it, then run this again." >&2
  exit 1
fi
