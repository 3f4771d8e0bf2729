"""What a start costs, as ratios in one run: ``import screenproof`` and ``screenproof --help`` against bare peers.

Processor time (user and system) of whole processes, by the operating system's accounting; the median of pairs that
alternate, so that a machine whose speed drifts does not decide. The peer of the import is Python alone, that of
the help is a process that imports typer and no more. Give folders with other trees of the project to compare them:

    python benchmarks/startup.py [TREE ...]
"""

from __future__ import annotations

import resource
import statistics
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parents[1]
RUNS = 25

ASKED = {
    "import screenproof": (["-c", "import screenproof"], ["-c", "pass"]),
    "screenproof --help": (["-m", "screenproof", "--help"], ["-c", "import typer"]),
}


def seconds(arguments: list[str], tree: Path) -> float:
    """Processor time of one process that runs Python with ``arguments`` in the folder ``tree``."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *arguments], cwd=tree, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return (after.ru_utime - before.ru_utime) + (after.ru_stime - before.ru_stime)


def main() -> None:
    """Print the ratio of each start to its peer, for this tree and for those that are named."""
    trees = [HERE, *(Path(name) for name in sys.argv[1:])]
    for what, (command, peer) in ASKED.items():
        ratios: dict[Path, list[float]] = {tree: [] for tree in trees}
        times: dict[Path, list[float]] = {tree: [] for tree in trees}
        for _ in range(RUNS):
            for tree in trees:
                own, other = seconds(command, tree), seconds(peer, tree)
                ratios[tree].append(own / other)
                times[tree].append(own)
        for tree in trees:
            own = statistics.median(times[tree])
            print(f"{what:20} {tree.name:10} {statistics.median(ratios[tree]):6.2f} of its peer, {1000 * own:6.1f} ms")  # noqa: E501


if __name__ == "__main__":
    main()
