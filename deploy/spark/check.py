"""Runs population.py on a cluster of two executors, one of which is killed, and compares what
comes out with that of one machine. See .ci/run spark.

    python check.py BINARY EXPORT FOLDER
"""

import glob
import os
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


def main():
    binary, export, folder = (os.path.abspath(a) for a in sys.argv[1:])
    one, many = folder + "/one", folder + "/many"
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(folder)
    key = folder + "/key"
    with open(key, "w") as f:
        f.write("00" * 32)
    begun = time.time()
    subprocess.run([binary, "population", export, "--out", one, "--key-file", key, "--results", "resources"], check=True)
    alone = time.time() - begun

    killed, done = [], threading.Event()
    watcher = threading.Thread(target=kill_one, args=(killed, done))
    watcher.start()
    begun = time.time()
    submit = os.path.join(os.path.dirname(pyspark.__file__), "bin", "spark-submit")
    try:
        subprocess.run(
            [submit, "--master", "local-cluster[2,1,1024]", "--conf", "spark.ui.enabled=false", "--conf", "spark.log.level=WARN", "--conf", "spark.driver.host=127.0.0.1",
             "--conf", "spark.driver.bindAddress=127.0.0.1", "--conf", "spark.sql.warehouse.dir=" + folder + "/warehouse",
             here + "/population.py", "--binary", binary, "--key-file", key, "--results", "resources", "--out", many, export],
            check=True, env={**os.environ, "EVENREACH_CHECK": str(os.getpid()), "SPARK_LOCAL_IP": "127.0.0.1",
                             "PYSPARK_PYTHON": sys.executable, "SPARK_LOCAL_DIRS": folder + "/spills", "SPARK_HOME": os.path.dirname(pyspark.__file__)},
            cwd=folder)
    finally:
        done.set()
        watcher.join()
    together = time.time() - begun
    subprocess.run([binary, "population", "--summary-only", "--out", many], check=True)

    failed = not killed
    if failed:
        print("no executor was killed")
    folders = ["patients", "rejected"] + sorted("results/" + n for n in os.listdir(one + "/results"))
    for name in folders:
        a, b = lines(f"{one}/{name}"), lines(f"{many}/{name}")
        print(f"{name}: {len(a)} lines on one machine, {len(b)} on the cluster, {'the same' if a == b else 'OTHERS'}")
        failed = failed or not a or a != b
    for name in ["summary/summary.json", "summary/lists.json", "report.html", "clinic.html"]:
        same = open(f"{one}/{name}", "rb").read() == open(f"{many}/{name}", "rb").read()
        print(f"{name}: {'the same' if same else 'ANOTHER'}")
        failed = failed or not same
    failed = rows(one, many) or failed
    print(f"one machine {alone:.1f} s, cluster {together:.1f} s, executors killed: {len(killed)}")
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
