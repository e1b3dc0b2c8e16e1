import io.github.linuxforhealth.hl7.ConverterOptions;
import io.github.linuxforhealth.hl7.HL7ToFHIRConverter;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.stream.Stream;

/** Converts the messages of a folder to FHIR R4, each to a Bundle beside it whose name ends in .json. */
public final class Convert {
  private Convert() {}

  public static void main(String[] args) throws Exception {
    HL7ToFHIRConverter converter = new HL7ToFHIRConverter();
    ConverterOptions options = new ConverterOptions.Builder().withValidateResource().withZoneIdText("+01:00").build();
    List<Path> files;
    try (Stream<Path> all = Files.list(Path.of(args[0]))) {
      files = all.sorted().toList();
    }
    for (Path file : files) {
      Files.writeString(Path.of(file + ".json"), converter.convert(Files.readString(file), options));
    }
    System.exit(0);
  }
}
