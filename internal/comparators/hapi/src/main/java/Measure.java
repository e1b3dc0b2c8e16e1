import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.util.VersionUtil;
import java.io.IOException;
import java.lang.management.ManagementFactory;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Locale;
import java.util.function.Supplier;
import org.hl7.fhir.r4.model.Bundle;

/**
 * Measures HAPI FHIR's reading of a Bundle, and reading and writing it, in this process: java
 * Measure FILE WARM-UP SECONDS. Prints a line of JSON for each. Nothing is computed or validated.
 */
public final class Measure {
  private static final FhirContext CONTEXT = FhirContext.forR4();

  private Measure() {}

  public static void main(String[] args) throws IOException {
    String text = Files.readString(Path.of(args[0]));
    double warmUp = Double.parseDouble(args[1]);
    double seconds = Double.parseDouble(args[2]);
    String name = "HAPI FHIR " + VersionUtil.getVersion();
    Supplier<Object> read = () -> parse(text);
    Supplier<Object> copy = () -> CONTEXT.newJsonParser().encodeResourceToString(parse(text));
    run(read, warmUp);
    print(name + ", parse", "reads the Bundle", run(read, seconds));
    run(copy, warmUp);
    print(name + ", parse and encode", "reads the Bundle and writes it again", run(copy, seconds));
  }

  private static Bundle parse(String text) {
    return CONTEXT.newJsonParser().parseResource(Bundle.class, text);
  }

  private static void print(String name, String what, Run run) {
    System.out.printf(Locale.ROOT,
        "{\"name\":\"%s\",\"what\":\"%s\",\"iterations\":%d,\"seconds\":%f,\"cpuSeconds\":%f}%n",
        name, what, run.iterations, run.seconds, run.cpuSeconds);
  }

  private record Run(int iterations, double seconds, double cpuSeconds) {}

  /**
   * Repeats the work, one after the other, until the processor has worked on it for some seconds:
   * on a busy machine the clock would end it too early. The processor's time is that of all threads,
   * the compiler's and the garbage collector's too.
   */
  private static Run run(Supplier<Object> work, double seconds) {
    long cpu = cpuTime();
    long start = System.nanoTime();
    for (int iterations = 1; ; iterations++) {
      if (work.get() == null) {
        throw new IllegalStateException("no result");
      }
      double cpuSeconds = (cpuTime() - cpu) / 1e9;
      if (cpuSeconds >= seconds) {
        return new Run(iterations, (System.nanoTime() - start) / 1e9, cpuSeconds);
      }
    }
  }

  private static long cpuTime() {
    return ((com.sun.management.OperatingSystemMXBean) ManagementFactory.getOperatingSystemMXBean())
        .getProcessCpuTime();
  }
}
