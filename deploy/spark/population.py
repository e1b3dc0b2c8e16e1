"""Assesses every shoulder of an export on Spark, as `evenreach-population` does on one machine.

    spark-submit population.py --binary /path/to/evenreach-population --key-file KEY --out OUT EXPORT

Spark reads the lines, sorts them by patient and retries what fails. What a line is about, and
what follows from a patient's lines, the binary says: it is run as a pipe beside each task.
The folders are those of one machine; see README.md.
"""

import argparse
import os
import subprocess
import threading
from urllib.parse import unquote

from pyspark import StorageLevel
from pyspark.sql import SparkSession
from pyspark.sql.functions import col
from pyspark.sql.types import BooleanType, DoubleType, IntegerType, StringType, StructField, StructType

# The columns of rows/, as the binary writes them in JSON, and their names in Parquet.
ROW = [
    ("patient", "patient", StringType()),
    ("visit", "visit", IntegerType()),
    ("day", "day", StringType()),
    ("rotation", "rotation", StringType()),
    ("position", "position", StringType()),
    ("index", "index", DoubleType()),
    ("low", "low", DoubleType()),
    ("high", "high", DoubleType()),
    ("probabilityGoodEnough", "probability_good_enough", DoubleType()),
    ("probabilityEven", "probability_even", DoubleType()),
    ("comparisonCarried", "comparison_carried", BooleanType()),
    ("doubtful", "doubtful", BooleanType()),
    ("weeksSinceFirst", "weeks_since_first", DoubleType()),
    ("weeksSinceRepair", "weeks_since_repair", DoubleType()),
    ("weeksSinceOnset", "weeks_since_onset", DoubleType()),
    ("repair", "repair", StringType()),
    ("step", "step", StringType()),
    ("goodEnough", "good_enough", StringType()),
    ("even", "even", StringType()),
    ("confirmed", "confirmed", StringType()),
    ("status", "status", StringType()),
    ("flags", "flags", StringType()),
    ("protocol", "protocol", StringType()),
]

WHOLE_FILES = str(1 << 40)  # bytes; no file is split, because lines are counted from its beginning


def piped(command, lines):
    """The lines that a command writes when it is given lines, each bytes without its end."""
    child = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    failed = []

    def feed():
        try:
            for line in lines:
                child.stdin.write(line)
                child.stdin.write(b"\n")
        except BrokenPipeError:
            pass  # its exit status says why
        except BaseException as e:
            failed.append(e)
            child.kill()
        finally:
            try:
                child.stdin.close()
            except BrokenPipeError:
                pass

    feeder = threading.Thread(target=feed, daemon=True)
    feeder.start()
    for line in child.stdout:
        yield line.rstrip(b"\n")
    status = child.wait()
    feeder.join()
    if failed:
        raise failed[0]
    if status:
        raise RuntimeError(f"{command[0]} ended with {status}")


def numbered(rows, root):
    """Each line with its file, as it is called behind root, and its number, and tabs between them."""
    number = {}
    for path, text in rows:
        name = unquote(path).split(root, 1)[1]
        number[name] = number.get(name, 0) + 1
        text = bytes(text).removesuffix(b"\r")
        if number[name] == 1:
            text = text.removeprefix(b"\xef\xbb\xbf")
        yield b"%s\t%d\t%s" % (name.encode(), number[name], text)


def write(outputs, folder, to, spark):
    """Writes the lines of one folder. Only what Spark has committed is ever there."""
    lines = outputs.filter(lambda o: o[0] == folder).map(lambda o: (o[1].decode(),))
    spark.createDataFrame(lines, StructType([StructField("value", StringType())])).write.mode("overwrite").text(to)


def run(spark, o):
    spark.conf.set("spark.sql.files.maxPartitionBytes", WHOLE_FILES)
    spark.conf.set("spark.sql.files.openCostInBytes", WHOLE_FILES)
    sift, assess = [o.binary, "--pipe=sift"], [o.binary, "--pipe=assess", "--workers=1", "--results=" + o.results]
    assess += ["--keep-ids"] if o.keep_ids else ["--key-file=" + o.key_file]
    for flag in ("protocol", "code_map"):
        if getattr(o, flag):
            assess.append(f"--{flag.replace('_', '-')}={getattr(o, flag)}")
    root = "/" + os.path.basename(o.export.rstrip("/")) + "/"

    files = spark.read.option("lineSep", "\n").option("recursiveFileLookup", "true").option("pathGlobFilter", "*.ndjson*").text(o.export)
    texts = files.select(col("_metadata.file_path"), col("value").cast("binary")).rdd
    sifted = texts.mapPartitions(lambda rows: piped(sift, numbered(rows, root)))
    outputs = sifted.map(lambda line: tuple(line.split(b"\t", 1))).map(lambda o: (o[0].decode(), o[1])).persist(StorageLevel.MEMORY_AND_DISK)

    def by_patient(o):
        return o[1].split(b"\t", 1)[0]

    grouped = (
        outputs.filter(lambda o: o[0] == "lines")
        .map(lambda o: (by_patient(o), o[1]))
        .repartitionAndSortWithinPartitions(o.partitions or spark.sparkContext.defaultParallelism * 4)
        .map(lambda pair: pair[1])
    )
    results = grouped.mapPartitions(lambda lines: piped(assess, lines)).map(lambda line: tuple(line.split(b"\t", 1)))
    results = results.map(lambda o: (o[0].decode(), o[1])).persist(StorageLevel.MEMORY_AND_DISK)

    write(outputs, "counts", o.out + "/counts", spark)
    write(results, "patients", o.out + "/patients", spark)
    write(outputs.union(results), "rejected", o.out + "/rejected", spark)
    for folder in sorted(results.map(lambda o: o[0]).distinct().collect()):
        if folder.startswith("results/"):
            write(results, folder, o.out + "/" + folder, spark)
    schema = StructType([StructField(name, kind) for name, _, kind in ROW])
    rows = spark.read.schema(schema).json(results.filter(lambda o: o[0] == "rows").map(lambda o: o[1].decode()))
    rows.select([col(name).alias(column) for name, column, _ in ROW]).write.mode("overwrite").parquet(o.out + "/rows")


def main():
    flags = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    flags.add_argument("export", help="folder of the export, which every executor can read")
    flags.add_argument("--out", required=True, help="folder to write to")
    flags.add_argument("--binary", required=True, help="evenreach, at the same place on every executor")
    flags.add_argument("--key-file", help="the key by which record numbers become digests")
    flags.add_argument("--keep-ids", action="store_true", help="name patients by their record numbers")
    flags.add_argument("--results", default="none", choices=["none", "resources", "transactions"])
    flags.add_argument("--protocol", help="the clinic's own protocol")
    flags.add_argument("--code-map", help="a ConceptMap of the site's own codes")
    flags.add_argument("--partitions", type=int, help="of the patients (four times the cores)")
    o = flags.parse_args()
    if not o.key_file and not o.keep_ids:
        flags.error("--key-file or --keep-ids: expected one of them")
    spark = SparkSession.builder.appName("evenreach population").getOrCreate()
    run(spark, o)
    spark.stop()


if __name__ == "__main__":
    main()
