"""Plans lines of jobs on two workers of an engine that shards lines: `stripwright batch` is the work of each shard.

    python plan.py PROGRAM JOBS PLANS [--kill-one]

JOBS has one job a line, PLANS gets one line for each, in order. With --kill-one a worker process is killed midway, with
finished shards still on it, and the engine plans again what was lost.
"""

import os
import signal
import subprocess
import sys

from distributed import Client, LocalCluster, as_completed

LINES_A_SHARD = 20


def plan(program: str, first: int, lines: list[bytes]) -> list[bytes]:
    """The plans of some lines: one line out for each line in, or the shard has failed."""
    command = [program, "batch", "-", "--threads", "1", "--first-line", str(first)]
    done = subprocess.run(command, input=b"".join(lines), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True)
    plans = done.stdout.splitlines(keepends=True)
    if len(plans) != len(lines):
        raise RuntimeError(f"{len(lines)} lines in and {len(plans)} out")
    return plans


def kill_one(client: Client) -> str:
    """Kills the worker that holds the most finished shards; says how many it held."""
    held = {worker: len(keys) for worker, keys in client.has_what().items()}
    worker = max(held, key=held.get)
    pid = client.run(os.getpid, workers=[worker])[worker]
    os.kill(pid, signal.SIGKILL)
    return f"killed one of {len(held)} workers, which held {held[worker]} finished shards"


def main(program: str, jobs: str, plans: str, kill: bool) -> None:
    with open(jobs, "rb") as file:
        lines = file.readlines()
    shards = [(n + 1, lines[n : n + LINES_A_SHARD]) for n in range(0, len(lines), LINES_A_SHARD)]
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        with Client(cluster) as client:
            futures = [client.submit(plan, program, first, shard, key=f"from line {first}") for first, shard in shards]
            for finished, _ in enumerate(as_completed(futures), start=1):
                if kill and finished == len(shards) // 2:
                    print(f"{kill_one(client)}, after {finished} of {len(shards)} shards", flush=True)
                    kill = False
            results = client.gather(futures)
    with open(plans, "wb") as file:
        for shard in results:
            file.writelines(shard)
    print(f"{len(lines)} jobs in, {sum(map(len, results))} lines out")


if __name__ == "__main__":
    main(*sys.argv[1:4], kill="--kill-one" in sys.argv[4:])
