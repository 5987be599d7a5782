#!/bin/sh
# check-build.sh: what a build server performs for each build of the firmware. It wants
# a shell and pintle on the path, and nothing of any one build server:
#
#   sh check-build.sh FIRMWARE RESULTS [SCENARIO...]
#
# FIRMWARE is the file that has just been built. RESULTS is a folder that is kept from one
# build to the next. Without scenarios all that apply are performed. Afterwards there are
#
#   logbook.db        every run
#   junit.xml         the verdicts, in the form that build servers show
#   certificate.pdf   of this build
#   changes.txt       what is different from the last release
#   latest            the name of this run
#   release           the name of the run that the last release rests on
#
# in RESULTS. The last is written by you, once a build is released:
#   cp RESULTS/latest RESULTS/release
#
# On a real bench the controller must run FIRMWARE by then: flash it where it says so
# below. Two builds must not use one bench at a time; let the build server run this only
# on the machine of the bench. Nobody's hands may be near the motor while a build server
# may start it: lock the bench, and mark it.
#
# Exit status: 0 pass; 1 fail, or a regression against the last release; 2 inconclusive;
# 3 the bench failed; anything else: the call or a file is wrong.
set -u
if [ $# -lt 2 ]; then
	echo "usage: sh $0 FIRMWARE RESULTS [SCENARIO...]" >&2
	exit 64
fi
job=$(dirname "$0") firmware=$1 results=$2
shift 2
trials=${TRIALS:-59} # 59 that all pass show 95 % at 95 % confidence

mkdir -p "$results" || exit 64
pintle check "$job" >"$results/check.txt" || { status=$?; cat "$results/check.txt"; exit $status; }

# Flash the controller here, where there is one, such as: flash-my-board "$firmware"

pintle run "$job" "$@" --firmware "$firmware" --trials "$trials" --logbook "$results/logbook.db" \
	--junit "$results/junit.xml" --certificate "$results/certificate.pdf" >"$results/run.txt"
status=$?
cat "$results/run.txt"
run=$(sed -n 's/^run \([0-9.-]*\) in .*/\1/p' "$results/run.txt")
[ -n "$run" ] || exit $status
echo "$run" >"$results/latest"

# A build may pass and still be worse than the last one that was released.
if [ -f "$results/release" ]; then
	pintle compare "$(cat "$results/release")" "$run" --logbook "$results/logbook.db" >"$results/changes.txt"
	compared=$?
	cat "$results/changes.txt"
	# A verdict that is no pass outweighs what the comparison says; 64 and above is a mistake.
	if [ $compared -ge 64 ] || [ $status -eq 0 ]; then
		status=$compared
	fi
fi
exit $status
