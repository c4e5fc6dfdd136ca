#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Beside a Slurm cluster (with_slurm): an array of jobs, a shard and a store each, merges to what one
run gives."""
import sys
sys.dont_write_bytecode = True
from helper import *

SHARDS = 4
clear_scratch()
folder = break_some(make_captures("captures", 48))
fleet(folder, "--store", "whole.db", "--quiet")
task = "$SLURM_ARRAY_TASK_ID"
sent = subprocess.run(["sbatch", "--parsable", f"--array=1-{SHARDS}", "--ntasks=1", "--output=job%a.log", "--wrap",
                       f"'{PROGRAM}' fleet captures --shard {task}/{SHARDS} --store part{task}.db --jobs 1"],
                      capture_output=True, timeout=60)
assert sent.returncode == 0, sent.stderr
job = sent.stdout.decode().strip()
end = time.monotonic() + LONGEST_S
while subprocess.run(["squeue", "--noheader", f"--jobs={job}"], capture_output=True).stdout.strip():
    assert time.monotonic() < end, "the jobs do not end"
    time.sleep(0.1)
for task in range(1, SHARDS + 1):
    said = Path(f"job{task}.log").read_text()
    check(" judged, " in said and " of other shards" in said, f"job {task} said {said}")
fleet("--merge", *(f"part{task}.db" for task in range(1, SHARDS + 1)), "--store", "merged.db")
same("merged.db", dump("whole.db"), "the merged stores of an array of jobs")
finish(f"an array of {SHARDS} jobs as one run")
