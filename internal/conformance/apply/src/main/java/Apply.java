import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.IParser;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.stream.Stream;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Resource;
import org.opencds.cqf.fhir.cr.plandefinition.PlanDefinitionProcessor;
import org.opencds.cqf.fhir.utility.monad.Eithers;
import org.opencds.cqf.fhir.utility.repository.InMemoryFhirRepository;

/**
 * Applies a PlanDefinition, by its canonical URL, to the invented Patient/p1, with the FHIR R4 JSON
 * files of a folder as definitions, and prints the CarePlan that it makes.
 */
public final class Apply {
  private Apply() {}

  public static void main(String[] args) throws Exception {
    FhirContext context = FhirContext.forR4();
    IParser parser = context.newJsonParser();
    Bundle all = new Bundle();
    all.setType(Bundle.BundleType.COLLECTION);
    List<Path> files;
    try (Stream<Path> found = Files.list(Path.of(args[0]))) {
      files = found.sorted().toList();
    }
    for (Path file : files) {
      all.addEntry().setResource((Resource) parser.parseResource(Files.readString(file)));
    }
    Patient patient = new Patient();
    patient.setId("Patient/p1");
    all.addEntry().setResource(patient);
    PlanDefinitionProcessor processor = new PlanDefinitionProcessor(new InMemoryFhirRepository(context, all));
    IBaseResource plan = processor.apply(
        Eithers.forLeft3(new CanonicalType(args[1])), "Patient/p1", "Encounter/e1", "Practitioner/x1",
        null, null, null, null, null, null);
    System.out.println(parser.encodeResourceToString(plan));
    System.exit(0);
  }
}
