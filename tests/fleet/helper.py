# SPDX-License-Identifier: GPL-3.0-or-later
"""What the tests of `platelag fleet` share (they import this): captures, runs of the program, stores as
sorted rows, and one list of what went wrong."""
import atexit, os, re, shutil, signal, sqlite3, subprocess, sys, time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

PROGRAM, SOURCE, SCRATCH = str(Path(sys.argv[1]).resolve()), Path(sys.argv[2]).resolve(), Path(sys.argv[3]).resolve()
TABLES = ("capture", "figure", "judged", "repair", "seen", "store", "trouble")
LONGEST_S = 120  # of one run: beyond it the program hangs
failures = []


def clear_scratch():
    subprocess.run(["rm", "-rf", str(SCRATCH)], check=True)  # trees deeper than shutil can go
    SCRATCH.mkdir(parents=True)
    os.chdir(SCRATCH)


def check(holds, what):
    if not holds:
        failures.append(what)
        print("FAILED:", what, flush=True)
    return holds


def finish(summary):
    print(f"{len(failures)} failed" if failures else summary)
    sys.exit(bool(failures))


def skip_part(why):
    print("skipped a part:", why, flush=True)


# --- captures ---------------------------------------------------------------------------------------

def practice(path, seed, *options):
    path = Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run([PROGRAM, "practice", f"--seed={seed}", *options, str(path)], check=True, timeout=LONGEST_S)
    Path(f"{path}.truth.json").unlink()
    return path


def make_captures(folder, count, minutes=0.5, vehicles=12, fault="none"):
    """`count` captures of different contents: some are made, the others are their first rows."""
    folder = Path(folder)
    made = min(count, vehicles)
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(lambda seed: practice(folder / f"c{seed:03}.csv", seed, f"--fault={fault}", f"--minutes={minutes}"),
                      range(made)))
    for index in range(made, count):
        lines = (folder / f"c{index % made:03}.csv").read_bytes().splitlines(keepends=True)
        (folder / f"c{index:03}.csv").write_bytes(b"".join(lines[:-(index // made)]))
    return folder


def break_some(folder):
    """Files that are no captures, beside captures that are."""
    good = (folder / "c000.csv").read_bytes()
    for name, content in {"empty": b"", "header": good.split(b"\n")[0] + b"\n", "binary": os.urandom(70000),
                          "prose": b"This is a letter.\nIt holds no figures.\n", "words": good.replace(b"0.", b"x."),
                          "cut": good[:len(good) // 2 - 7], "nul": good[:3000] + b"\0" + good[3000:]}.items():
        (folder / f"b_{name}.csv").write_bytes(content)
    return folder


# --- runs -------------------------------------------------------------------------------------------

def command(*arguments):
    return [PROGRAM, "fleet", *map(os.fspath, arguments)]


def fleet(*arguments, status=0, **how):
    """Runs the program and holds its exit status against `status`."""
    done = subprocess.run(command(*arguments), capture_output=True, timeout=LONGEST_S, **how)
    check(done.returncode == status, f"fleet {arguments}: exit status {done.returncode}, expected {status}: "
                                     f"{done.stderr.decode(errors='replace')[:500]}")
    return done


def counts(done):
    """The numbers of the last line of a run: judged, known, refused, unread, elsewhere."""
    said = done.stderr.decode(errors="replace")
    found = re.search(r"(\d+) judged, (\d+) known before, (\d+) refused, (\d+) not read(?:, (\d+) of other shards)?", said)
    if not check(found, f"no counts in: {said[:300]}"):
        return (-1,) * 5
    return tuple(int(number or 0) for number in found.groups())


def tells_once(done, *words):
    """One line, without the counts, that holds each of the words; that and nothing else."""
    lines = [line for line in done.stderr.decode(errors="replace").splitlines() if " known before, " not in line]
    check(len(lines) == 1 and all(word in lines[0] for word in words), f"expected one line with {words}, found {lines}")


# --- stores -----------------------------------------------------------------------------------------

def rows(store, sql="", *values):
    connection = sqlite3.connect(store)
    connection.text_factory = bytes
    try:
        return connection.execute(sql, values).fetchall()
    finally:
        connection.close()


def dump(store):
    """All rows of all tables, sorted."""
    return {table: sorted(rows(store, f"SELECT * FROM {table}"), key=repr) for table in TABLES}


def same(store, expected, what):
    found = dump(store)
    for table in TABLES:
        missing = [row for row in expected[table] if row not in found[table]]
        surplus = [row for row in found[table] if row not in expected[table]]
        check(found[table] == expected[table], f"{what}: {table}: {len(found[table])} rows, expected {len(expected[table])}; "
                                               f"missing {missing[:2]}, surplus {surplus[:2]}")


def change(store, sql, *values):
    connection = sqlite3.connect(store)
    with connection:
        connection.execute(sql, values)
    connection.close()


def held(store):
    """How many captures a store holds for good while a run is at work on it: asked of a copy."""
    copy = SCRATCH / "copy.db"
    for end in ("", "-wal"):
        Path(f"{copy}{end}").unlink(missing_ok=True)
    for end in ("", "-wal"):
        if os.path.exists(f"{store}{end}"):
            shutil.copyfile(f"{store}{end}", f"{copy}{end}")
    try:
        return rows(copy, "SELECT COUNT(*) FROM seen")[0][0]
    except sqlite3.DatabaseError:
        return 0  # not set up yet


def is_tidy(store, what):
    left = [end for end in ("-wal", "-shm", "-journal") if os.path.exists(f"{store}{end}")]
    check(not left, f"{what}: left beside the store: {left}")
