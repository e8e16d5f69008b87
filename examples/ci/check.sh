#!/bin/sh
# Judges a repository of jobs in continuous integration. With a branch (or commit) as its argument only what changed since
# that one, what follows it, and what a changed shared file does to every job; without, the whole tree, as a nightly run
# should: concessions run out on days when nobody commits.
#
#   check.sh                 the whole tree
#   check.sh origin/main     before a branch is merged; the history back to that branch must be there
#
# TRIALFIT_DATE is the day that concessions are held against; today (UTC) otherwise. The exit code is that of trialfit: 0
# nothing found, 1 something found, 2 some of the work could not be done. A clean run is not an approval of a job.
set -u

day=${TRIALFIT_DATE:-$(date -u +%Y-%m-%d)}
worst=0

step() {
    printf '== %s\n' "$*"
    "$@"
    code=$?
    if [ "$code" -gt "$worst" ]; then
        worst=$code
    fi
}

if [ $# -gt 0 ] && [ -n "$1" ]; then
    step trialfit check --form line --date "$day" --changed="$1"
    # What a changed shared file does to the jobs is told; whether it counts is decided by the check above.
    printf '== what changed shared files do\n'
    trialfit followers --since="$1" --date "$day"
    code=$?
    if [ "$code" -gt 1 ] && [ "$code" -gt "$worst" ]; then
        worst=$code
    fi
else
    step trialfit check --form line --date "$day"
    step trialfit concessions --date "$day"
fi
exit "$worst"
