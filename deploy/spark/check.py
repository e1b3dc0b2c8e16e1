"""Runs population.py on a cluster of two executors, one of which is killed, and compares what
comes out with that of one machine. See .ci/run spark.

    python check.py [--undisturbed] BINARY EXPORT FOLDER

With --undisturbed no executor is killed: to compare the times.
"""

import glob
import os
import resource
import shutil
import signal
import subprocess
import sys
import threading
import time

import pyspark

here = os.path.dirname(os.path.abspath(__file__))


def executors():
    """The processes of the executors that this check has started."""
    mine, found = str(os.getpid()), []
    for status in glob.glob("/proc/[0-9]*/cmdline"):
        try:
            command = open(status, "rb").read()
            environment = open(os.path.join(os.path.dirname(status), "environ"), "rb").read()
        except OSError:
            continue
        if b"CoarseGrainedExecutorBackend" in command and b"EVENREACH_CHECK=" + mine.encode() in environment:
            found.append(int(status.split("/")[2]))
    return found


def lines(folder):
    """The lines of all files of a folder, sorted."""
    found = []
    for name in glob.glob(folder + "/*"):
        if os.path.basename(name)[0] not in "._":
            found += open(name, "rb").read().splitlines()
    return sorted(found)


def works(process):
    """Whether a process has a child: that of a task."""
    for children in glob.glob(f"/proc/{process}/task/*/children"):
        try:
            if open(children).read().strip():
                return True
        except OSError:
            pass
    return False


def kill_one(killed, done):
    """Kills one executor once tasks run in it."""
    while not done.is_set() and not killed:
        found = executors()
        if len(found) == 2 and any(works(p) for p in found):
            time.sleep(1)
            os.kill(found[0], signal.SIGKILL)
            killed.append(found[0])
        time.sleep(0.2)


def timed(command, **options):
    """Runs a command; the seconds that it took, and those of the processor in it and what it waited for."""
    def processor():
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        return used.ru_utime + used.ru_stime

    begun, before = time.time(), processor()
    subprocess.run(command, check=True, **options)
    return time.time() - begun, processor() - before


def main():
    undisturbed = sys.argv[1] == "--undisturbed"
    binary, export, folder = (os.path.abspath(a) for a in sys.argv[1 + undisturbed:])
    one, many = folder + "/one", folder + "/many"
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(folder)
    key = folder + "/key"
    with open(key, "w") as f:
        f.write("00" * 32)
    alone = timed([binary, export, "--out", one, "--key-file", key, "--results", "resources"])

    killed, done = [], threading.Event()
    watcher = threading.Thread(target=kill_one, args=(killed, done))
    if not undisturbed:
        watcher.start()
    submit = os.path.join(os.path.dirname(pyspark.__file__), "bin", "spark-submit")
    try:
        together = timed(
            [submit, "--master", "local-cluster[2,1,1024]", "--conf", "spark.ui.enabled=false", "--conf", "spark.log.level=WARN", "--conf", "spark.driver.host=127.0.0.1",
             "--conf", "spark.driver.bindAddress=127.0.0.1", "--conf", "spark.sql.warehouse.dir=" + folder + "/warehouse",
             here + "/population.py", "--binary", binary, "--key-file", key, "--results", "resources", "--out", many, export],
            env={**os.environ, "EVENREACH_CHECK": str(os.getpid()), "SPARK_LOCAL_IP": "127.0.0.1",
                             "PYSPARK_PYTHON": sys.executable, "SPARK_LOCAL_DIRS": folder + "/spills", "SPARK_HOME": os.path.dirname(pyspark.__file__)},
            cwd=folder)
    finally:
        done.set()
        if not undisturbed:
            watcher.join()
    subprocess.run([binary, "--summary-only", "--out", many], check=True)

    failed = not killed and not undisturbed
    if failed:
        print("no executor was killed")
    folders = ["patients", "rejected"] + sorted("results/" + n for n in os.listdir(one + "/results"))
    for name in folders:
        a, b = lines(f"{one}/{name}"), lines(f"{many}/{name}")
        print(f"{name}: {len(a)} lines on one machine, {len(b)} on the cluster, {'the same' if a == b else 'OTHERS'}")
        failed = failed or not a or a != b
    for name in ["summary/summary.json", "summary/lists.json", "report.html", "report.pdf", "clinic.html"]:
        same = open(f"{one}/{name}", "rb").read() == open(f"{many}/{name}", "rb").read()
        print(f"{name}: {'the same' if same else 'ANOTHER'}")
        failed = failed or not same
    failed = rows(one, many) or failed
    for name, seconds in [("one machine", alone), ("cluster", together)]:
        print(f"{name}: {seconds[0]:.1f} s, {seconds[1]:.1f} s of the processor")
    print(f"executors killed: {len(killed)}")
    sys.exit(failed)


def rows(one, many):
    """Whether the tables differ."""
    import pyarrow.parquet

    def read(folder):
        table = pyarrow.parquet.read_table(folder + "/rows").to_pylist()
        return sorted(repr(sorted(row.items())) for row in table)

    a, b = read(one), read(many)
    print(f"rows: {len(a)} on one machine, {len(b)} on the cluster, {'the same' if a == b else 'OTHERS'}")
    return not a or a != b


if __name__ == "__main__":
    main()
