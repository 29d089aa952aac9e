#!/bin/sh
# Keeps what the demo of one release leaves: make_fixture.sh COMMIT NAME writes NAME.sqlite3.xz and NAME.backup.xz beside this script.
# It runs that release's code with the packages of this .venv; look at requirements/run.txt of both first.
set -eu
commit=$1 name=$2
here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
work=$(mktemp -d)
trap 'git -C "$top" worktree remove --force "$work/code"; rm -rf "$work"' EXIT
git -C "$top" worktree add --quiet --detach "$work/code" "$commit"
cd "$work/code"
export LOFT_VAR="$work/var" DATABASE_URL=
"$top/.venv/bin/python" manage.py migrate --verbosity 0
"$top/.venv/bin/python" manage.py demo
rm -f "$LOFT_VAR"/mail/*.eml
"$top/.venv/bin/python" manage.py backup "$work/loft.backup"
"$top/.venv/bin/python" - "$LOFT_VAR/loft.sqlite3" <<'PYTHON'
import sqlite3, sys
database = sqlite3.connect(sys.argv[1])
database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
database.execute("VACUUM")
PYTHON
xz -9e -c "$LOFT_VAR/loft.sqlite3" > "$here/$name.sqlite3.xz"
xz -9e -c "$work/loft.backup" > "$here/$name.backup.xz"
