#!/usr/bin/env bash
# Proves `calotte sweep --slurm` on a real Slurm of two nodes that lives on this machine for a minute: a node and a worker are killed
# amid a sweep, what is missing is submitted again, and every chunk must be, byte for byte, that of a run on one machine.
#
# PROGRAM names the program. Needs root and Slurm:
#   apt-get install -y --no-install-recommends slurmctld slurmd slurm-client munge
# Starts munged, slurmctld and two slurmd of its own on loopback in a folder of its own, and ends those, and no others.
set -u
PROGRAM=${PROGRAM:-calotte}
POINTS=${POINTS:-20000}
CHUNK=${CHUNK:-1000}
D=$(mktemp -d -t sweep-slurm.XXXXXX)
H=$(hostname -s)
begin=$(date +%s)
failed=0
missed=0

say() { echo "[$(($(date +%s) - begin)) s] $*"; }
fail() { say "FAILED: $*"; failed=1; }
# A kill that met nobody proves nothing, and nothing is wrong: the script ends with 3, and may be run again.
miss() { say "MISSED: $*"; missed=1; }
pids() { cat "$D"/slurmd-n1.pid "$D"/slurmd-n2.pid "$D"/slurmctld.pid "$D"/munge/pid 2>/dev/null; }
clean() {
    [ -s "$D/slurmctld.pid" ] && scancel --me >/dev/null 2>&1
    for pid in $(pids); do kill "$pid" 2>/dev/null; done
    sleep 1
    for pid in $(pids); do kill -9 "$pid" 2>/dev/null; done
    rm -rf "$D"
}
trap clean EXIT

for tool in munged slurmctld slurmd sbatch squeue scontrol sinfo; do
    command -v $tool >/dev/null || { echo "$tool is missing: see the head of this script"; exit 2; }
done
PROGRAM=$(command -v "$PROGRAM") || { echo "PROGRAM is no program"; exit 2; }
PROGRAM=$(readlink -f "$PROGRAM")

mkdir -p "$D"/{state,spool,log,munge}
chmod 755 "$D" "$D/munge"
dd if=/dev/urandom of="$D/munge.key" bs=128 count=1 2>/dev/null
chmod 400 "$D/munge.key"
munged --key-file="$D/munge.key" --socket="$D/munge/sock" --pid-file="$D/munge/pid" --log-file="$D/munge/log" \
    --seed-file="$D/munge/seed" --force 2>/dev/null
cat > "$D/slurm.conf" <<C
ClusterName=proof
SlurmctldHost=$H(127.0.0.1)
SlurmctldPort=17817
SlurmUser=root
SlurmdUser=root
AuthType=auth/munge
AuthInfo=socket=$D/munge/sock,cred_expire=5
CredType=cred/munge
StateSaveLocation=$D/state
SlurmdSpoolDir=$D/spool/%n
SlurmctldPidFile=$D/slurmctld.pid
SlurmdPidFile=$D/slurmd-%n.pid
SlurmctldLogFile=$D/log/slurmctld.log
SlurmdLogFile=$D/log/slurmd-%n.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
MpiDefault=none
SwitchType=switch/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
AccountingStorageType=accounting_storage/none
JobAcctGatherType=jobacct_gather/none
JobCompType=jobcomp/filetxt
JobCompLoc=$D/log/jobcomp.txt
ReturnToService=2
SlurmdTimeout=10
SlurmctldTimeout=10
KillWait=2
MinJobAge=300
SchedulerParameters=sched_min_interval=200000,batch_sched_delay=0
JobRequeue=1
NodeName=n[1-2] NodeHostname=$H NodeAddr=127.0.0.1 Port=[17901-17902] CPUs=1 RealMemory=500 State=UNKNOWN
PartitionName=main Nodes=n[1-2] Default=YES MaxTime=INFINITE State=UP
C
export SLURM_CONF=$D/slurm.conf
slurmctld -c && slurmd -N n1 && slurmd -N n2 || { fail "Slurm did not start"; exit 1; }
for _ in $(seq 60); do [ "$(sinfo -h -t idle -o %D | head -1)" = 2 ] && break; sleep 0.5; done
[ "$(sinfo -h -t idle -o %D | head -1)" = 2 ] || { fail "the nodes are not idle"; cat "$D"/log/*; exit 1; }
say "two nodes are up: $(sinfo --version)"

cat > "$D/case.toml" <<C
title = "Invented cap for a sweep"
[shape]
kind = "cap"
radius = "25 mm"
half_angle = "60 deg"
[wall]
thickness = "2.1 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = 0.49
[rim]
kind = "free"
C
cat > "$D/plan.toml" <<C
title = "Proof on a cluster"
case = "case.toml"
questions = ["threshold"]
chunk = $CHUNK
design = "sobol"
points = $POINTS
[vary."wall.thickness"]
from = "1 mm"
to = "4 mm"
[vary."shape.half_angle"]
from = "40 deg"
to = "70 deg"
[vary."material.poisson_ratio"]
from = 0.30
to = 0.49
C
chunks=$(((POINTS + CHUNK - 1) / CHUNK))
OUT=$D/out
have() { ls "$OUT"/chunk-*.parquet 2>/dev/null | wc -l; }
wait_for() { for _ in $(seq $(($2 * 5))); do eval "$1" && return 0; sleep 0.2; done; return 1; }
submit() { "$PROGRAM" sweep "$D/plan.toml" --out "$OUT" --slurm --time 5min --json > "$D/submit.json" || fail "submission: $(cat "$D/submit.json")"; }
field() { sed -n "s/^  \"$1\": \"\{0,1\}\([^\",]*\)\"\{0,1\},\{0,1\}$/\1/p" "$D/submit.json"; }

submit
job=$(field job)
say "job $job: $(field submitted_chunks) chunks in $(field array_tasks) tasks"

# Submitted again while it runs: nothing that is queued may be submitted twice.
submit
[ "$(field submitted_chunks)" -lt "$chunks" ] && say "submitted again at once: $(field submitted_chunks) chunks, $(field queued_chunks) queued" \
    || fail "queued chunks were submitted twice"

wait_for '[ "$(have)" -ge 2 ]' 60 || fail "no chunks appear"
# Workers of a node: the program itself, not the script around it.
workers() {
    for pid in $(pgrep -f "^$PROGRAM sweep $OUT/_sweep/plan.toml"); do
        grep -qsz "^SLURMD_NODENAME=$1\$" "/proc/$pid/environ" && echo "$pid"
    done
}
# Scripts of a node, and the steps of Slurm above them.
scripts() { pgrep -f "$D/spool/$1/job"; }
victim=
for _ in $(seq 400); do
    for pid in $(workers n1); do kill -9 "$pid" 2>/dev/null && victim=$pid && break; done
    [ -n "$victim" ] && break
    sleep 0.02
done
[ -n "$victim" ] && say "killed worker $victim on n1 with SIGKILL, $(have) chunks there" || miss "found no worker to kill"

# A node: its slurmd and everything that runs there, as when the power fails.
lost=
for _ in $(seq 400); do
    lost=$(workers n2)
    [ -n "$lost" ] && break
    sleep 0.02
done
around=$(scripts n2)
steps=$(for pid in $around; do ps -o ppid= -p "$pid" | tr -d ' '; done | sort -u | grep -vx 1)
for pid in $(cat "$D/slurmd-n2.pid") $steps $around $lost; do kill -9 "$pid" 2>/dev/null; done
[ -n "$lost" ] && say "killed node n2 with SIGKILL: slurmd, $(echo $steps | wc -w) step, $(echo $around $lost | wc -w) processes of a task; $(have) chunks there" \
    || miss "nothing ran on n2 when it was killed"

wait_for 'sinfo -h -n n2 -o %T | grep -q "down\|\*"' 40 && say "Slurm sees that n2 is lost" || say "Slurm has not seen that n2 is lost"
slurmd -N n2
# A task that lost its node may wait for a minute or two before Slurm starts it again.
wait_for '[ -z "$(squeue -h -o %A)" ]' 200 || fail "the queue does not empty: $(squeue)"
say "the queue is empty, $(have) of $chunks chunks there"
grep -h "back to the queue" "$OUT"/_sweep/logs/*.log | sort | uniq -c
restarts=$(cat "$OUT"/_sweep/logs/*.log | grep -c "start [2-9]")
say "tasks that started again: $restarts"
[ "$restarts" -ge 2 ] || [ $missed -eq 1 ] || fail "the tasks of the worker and of the node did not both start again"

if [ "$(have)" -lt "$chunks" ]; then
    submit
    say "submitted what is missing: $(field submitted_chunks) chunks as job $(field job)"
    wait_for '[ -z "$(squeue -h -o %A)" ]' 60 || fail "the queue does not empty"
fi
# One chunk more is lost and one damaged, as by a person: gathering says so, and they are submitted again.
rm "$OUT/chunk-000003.parquet"
printf 'x' | dd of="$OUT/chunk-000005.parquet" bs=1 seek=200 conv=notrunc 2>/dev/null
"$PROGRAM" sweep "$D/plan.toml" --out "$OUT" --gather > "$D/gather.txt" 2>&1
[ $? -eq 1 ] && grep -q "missing chunks .*3,5" "$D/gather.txt" || fail "gathering passed over what is missing: $(cat "$D/gather.txt")"
submit
[ "$(field submitted_chunks)" = 2 ] && say "submitted again: 2 chunks, one lost and one damaged" || fail "not two chunks: $(cat "$D/submit.json")"
wait_for '[ -z "$(squeue -h -o %A)" ]' 60 || fail "the queue does not empty"

"$PROGRAM" sweep "$D/plan.toml" --out "$OUT" --gather || fail "not complete"
"$PROGRAM" sweep "$D/plan.toml" --out "$D/alone" > /dev/null || fail "the run on one machine failed"
same=0
for shard in "$D"/alone/chunk-*.parquet; do
    cmp -s "$shard" "$OUT/$(basename "$shard")" && same=$((same + 1)) || fail "$(basename "$shard") differs"
done
[ "$same" -eq "$chunks" ] && cmp "$D/alone/_sweep/manifest.json" "$OUT/_sweep/manifest.json" || fail "$same of $chunks chunks are the same"
say "$same of $chunks chunks are byte for byte those of one machine"
[ $failed -eq 0 ] || { say "NOT proved"; exit 1; }
[ $missed -eq 0 ] || { say "nothing failed, and not all was proved"; exit 3; }
say "proved"
