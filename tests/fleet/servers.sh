# shellcheck shell=bash
# SPDX-License-Identifier: GPL-3.0-or-later
# What with_postgres and with_slurm share (they source this): folders, daemons that never outlive the
# script, the command between. A daemon runs in the foreground as a child of the script.

daemons=() signals=() logs=() scratch='' short='' command=''

# need COMMAND...: where one is not installed, ends with 77, which tests take as skipped.
need() {
  local name
  for name in "$@"; do
    command -v "$name" > /dev/null || { echo "skipped: no ${name##*/}" >&2; exit 77; }
  done
}

# open_folders SCRATCH: sets `scratch` (absolute; logs and data) and `short`, a folder for sockets,
# whose paths may have 107 bytes at most.
open_folders() {
  mkdir -p "$1"
  scratch=$(cd "$1" && pwd)
  trap close EXIT
  trap 'exit 129' HUP
  trap 'exit 130' INT
  trap 'exit 143' TERM
  short=$(mktemp -d /tmp/platelag.XXXXXX)
}

# start NAME SIGNAL COMMAND...: a daemon that ends cleanly on SIGNAL, and gets it even where this
# script is killed, but not what a terminal sends to the script's process group. Its output goes to
# SCRATCH/NAME.log. `as_user` (options of setpriv) says who runs it.
as_user=()
start() {
  local log=$scratch/$1.log signal=$2
  shift 2
  set -m
  setpriv "${as_user[@]}" --pdeathsig "$signal" -- "$@" < /dev/null > "$log" 2>&1 &
  set +m
  daemons+=($!) signals+=("$signal") logs+=("$log")
}

# wait_until SECONDS COMMAND...: until COMMAND succeeds; ends the script where a daemon has ended or
# the time is over.
wait_until() {
  local end=$((SECONDS + $1)) daemon
  shift
  until "$@" > /dev/null 2>&1; do
    for daemon in "${daemons[@]}"; do
      kill -0 "$daemon" 2> /dev/null || { echo "${0##*/}: a server ended while starting" >&2; exit 1; }
    done
    [ "$SECONDS" -lt "$end" ] || { echo "${0##*/}: not ready in time: $*" >&2; exit 1; }
    sleep 0.05
  done
}

# run COMMAND...: ends the script with its status. It gets a process group of its own, so that its
# signals are not ignored and what it leaves behind can be ended.
run() {
  local status=0
  set -m
  setpriv --pdeathsig TERM -- "$@" <&0 &
  set +m
  command=$!
  wait "$command" || status=$?
  exit "$status"
}

# Does what must be done while the servers still run; a script may replace it.
before_stop() { :; }

stop_daemon() { # PID SIGNAL
  local end=$((SECONDS + 10))
  kill -s "$2" "$1" 2> /dev/null || return 0
  while kill -0 "$1" 2> /dev/null; do
    [ "$SECONDS" -lt "$end" ] || kill -s KILL "$1" 2> /dev/null || true
    sleep 0.02
  done
}

close() { # at the end of the script, however it came
  local status=$? i log
  trap '' HUP INT TERM
  set +e
  [ -z "$command" ] || kill -s TERM -- "-$command" 2> /dev/null
  before_stop > /dev/null 2>&1
  for ((i = ${#daemons[@]} - 1; i >= 0; i--)); do stop_daemon "${daemons[i]}" "${signals[i]}"; done
  rm -rf "$short"
  if [ "$status" != 0 ] && [ "$status" != 77 ]; then
    for log in "${logs[@]}"; do
      echo "== the end of $log"
      tail -n 40 "$log"
    done >&2
  fi
  exit "$status"
}
