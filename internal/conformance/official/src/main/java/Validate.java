import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.context.support.DefaultProfileValidationSupport;
import ca.uhn.fhir.context.support.IValidationSupport;
import ca.uhn.fhir.validation.FhirValidator;
import ca.uhn.fhir.validation.SingleValidationMessage;
import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.stream.Stream;
import org.hl7.fhir.common.hapi.validation.support.CommonCodeSystemsTerminologyService;
import org.hl7.fhir.common.hapi.validation.support.InMemoryTerminologyServerValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.PrePopulatedValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.UnknownCodeSystemWarningValidationSupport;
import org.hl7.fhir.common.hapi.validation.support.ValidationSupportChain;
import org.hl7.fhir.common.hapi.validation.validator.FhirInstanceValidator;
import org.hl7.fhir.instance.model.api.IBaseResource;
import org.hl7.fhir.r4.model.MetadataResource;

/**
 * Validates the FHIR R4 JSON files of a folder, offline. What they define, such as profiles and
 * value sets, the others are validated against. Prints a line for each message: file, severity,
 * engine, path and text, between tabs; and at the end how many files were checked.
 */
public final class Validate {
  private Validate() {}

  public static void main(String[] args) throws IOException {
    FhirContext context = FhirContext.forR4();
    List<Path> files;
    try (Stream<Path> all = Files.list(Path.of(args[0]))) {
      files = all.sorted().toList();
    }
    PrePopulatedValidationSupport own = new PrePopulatedValidationSupport(context);
    for (Path file : files) {
      IBaseResource resource = context.newJsonParser().parseResource(Files.readString(file));
      if (resource instanceof MetadataResource definition && definition.hasUrl()) {
        own.addResource(resource);
      }
    }
    FhirValidator validator = validator(context, own);
    for (Path file : files) {
      for (SingleValidationMessage m : validator.validateWithResult(Files.readString(file)).getMessages()) {
        String text = m.getMessageId() + ": " + m.getMessage().replaceAll("\\s+", " ");
        System.out.println(String.join("\t", file.getFileName().toString(),
            m.getSeverity().getCode(), "hl7", m.getLocationString(), text));
      }
    }
    System.out.println("checked\t" + files.size());
  }

  private static FhirValidator validator(FhirContext context, IValidationSupport own) {
    // LOINC and the like are not at hand: not being able to look a code up is no error.
    UnknownCodeSystemWarningValidationSupport unknown = new UnknownCodeSystemWarningValidationSupport(context);
    unknown.setNonExistentCodeSystemSeverity(IValidationSupport.IssueSeverity.WARNING);
    FhirInstanceValidator engine = new FhirInstanceValidator(new ValidationSupportChain(
        new DefaultProfileValidationSupport(context), own,
        new CommonCodeSystemsTerminologyService(context),
        new InMemoryTerminologyServerValidationSupport(context), unknown));
    return context.newValidator().registerValidatorModule(engine);
  }
}
