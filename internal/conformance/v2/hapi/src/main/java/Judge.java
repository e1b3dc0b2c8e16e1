import ca.uhn.hl7v2.DefaultHapiContext;
import ca.uhn.hl7v2.HL7Exception;
import ca.uhn.hl7v2.HapiContext;
import ca.uhn.hl7v2.model.AbstractGroup;
import ca.uhn.hl7v2.model.Group;
import ca.uhn.hl7v2.model.Message;
import ca.uhn.hl7v2.model.Structure;
import ca.uhn.hl7v2.model.v27.datatype.CWE;
import ca.uhn.hl7v2.model.v27.datatype.NM;
import ca.uhn.hl7v2.model.v27.group.ORU_R01_ORDER_OBSERVATION;
import ca.uhn.hl7v2.model.v27.message.ORU_R01;
import ca.uhn.hl7v2.model.v27.segment.OBX;
import ca.uhn.hl7v2.parser.PipeParser;
import ca.uhn.hl7v2.util.Terser;
import ca.uhn.hl7v2.util.idgenerator.InMemoryIDGenerator;
import ca.uhn.hl7v2.validation.impl.ValidationContextFactory;
import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.List;
import java.util.stream.Stream;

/**
 * Reads the messages of a folder by HAPI's structures, under its default rules, and prints a line for each: file, structure,
 * version, how many segments stand where the structure has none for them, and whether HAPI writes the same again. A
 * message that it refuses has the reason instead. Then writes messages of its own beside them: made-standard.hl7
 * with the usual delimiters, and made-others.hl7 with others.
 */
public final class Judge {
  private Judge() {}

  public static void main(String[] args) throws Exception {
    Path folder = Path.of(args[0]);
    try (HapiContext context = new DefaultHapiContext(ValidationContextFactory.defaultValidation())) {
      context.getParserConfiguration().setIdGenerator(new InMemoryIDGenerator()); // the usual one keeps a file
      List<Path> files;
      try (Stream<Path> all = Files.list(folder)) {
        files = all.sorted().toList();
      }
      for (Path file : files) {
        System.out.println(file.getFileName() + "\t" + judged(context.getPipeParser(), Files.readString(file)));
      }
      write(context, folder.resolve("made-standard.hl7"), "|", "^~\\&");
      write(context, folder.resolve("made-others.hl7"), "#", "$*!%");
    }
    System.exit(0);
  }

  private static String judged(PipeParser parser, String text) {
    try {
      Message message = parser.parse(text);
      boolean same = parser.encode(message).equals(text);
      return message.getName() + "\t" + message.getVersion() + "\t" + strays(message) + "\t" + same;
    } catch (HL7Exception e) {
      return "refused\t" + e.getMessage().replaceAll("\\s+", " ");
    }
  }

  /** How many segments HAPI had to add to the structure. */
  private static int strays(Group group) throws HL7Exception {
    int strays = ((AbstractGroup) group).getNonStandardNames().size();
    for (String name : group.getNames()) {
      for (Structure one : group.getAll(name)) {
        strays += one instanceof Group below ? strays(below) : 0;
      }
    }
    return strays;
  }

  /** Writes a re-check of the invented patient O&Neil: three trials of both sides, 78 of 100 N. */
  private static void write(HapiContext context, Path file, String field, String others)
      throws HL7Exception, IOException {
    ORU_R01 message = new ORU_R01(context.getModelClassFactory());
    message.setParser(context.getPipeParser());
    message.initQuickstart("ORU", "R01", "T");
    Terser terser = new Terser(message);
    terser.set("MSH-1", field);
    terser.set("MSH-2", others);
    terser.set("MSH-3", "HAPI");
    terser.set("MSH-4", "CLINIC");
    terser.set("MSH-7", "20260309113000+0100");
    terser.set("MSH-10", "JUDGE-" + file.getFileName());
    terser.set("MSH-18", "UNICODE UTF-8");
    terser.set("/.PID-3-1", "DEMO-9");
    terser.set("/.PID-3-4", "CLINIC");
    terser.set("/.PID-5-1-1", "O&Neil|^~\\ of the Müllers");
    terser.set("/.PID-5-2", "Zoë");
    terser.set("/.PV1-2", "O");
    ORU_R01_ORDER_OBSERVATION order = message.getPATIENT_RESULT().getORDER_OBSERVATION();
    order.getOBR().getObr3_FillerOrderNumber().getEi1_EntityIdentifier().setValue("F|9");
    order.getOBR().getObr3_FillerOrderNumber().getEi2_NamespaceID().setValue("LAB");
    order.getOBR().getObr4_UniversalServiceIdentifier().getCwe1_Identifier().setValue("RECHECK");
    order.getOBR().getObr7_ObservationDateTime().setValue("20260309100000+0100");
    coded(message, next(order, "DX", "99CLN", "", "91774008"), "414033006", "SCT");
    strength(message, order, "1", "91774008", "76", "78", "80");
    strength(message, order, "2", "91775009", "99", "100", "101");
    Files.write(file, context.getPipeParser().encode(message).getBytes(StandardCharsets.UTF_8));
  }

  private static void strength(Message message, ORU_R01_ORDER_OBSERVATION order, String group, String site, String... trials)
      throws HL7Exception {
    OBX obx = next(order, "isometric-external-rotation-strength", "99EVR", group, site);
    obx.getObx2_ValueType().setValue("NM");
    obx.getObx6_Units().getCwe1_Identifier().setValue("N");
    obx.getObx6_Units().getCwe3_NameOfCodingSystem().setValue("UCUM");
    for (int i = 0; i < trials.length; i++) {
      NM one = new NM(message);
      one.setValue(trials[i]);
      obx.getObx5_ObservationValue(i).setData(one);
    }
    coded(message, next(order, "arm-position", "99EVR", group, ""), "arm-at-side", "99EVR");
  }

  private static void coded(Message message, OBX obx, String code, String system) throws HL7Exception {
    CWE value = new CWE(message);
    value.getCwe1_Identifier().setValue(code);
    value.getCwe3_NameOfCodingSystem().setValue(system);
    obx.getObx2_ValueType().setValue("CWE");
    obx.getObx5_ObservationValue(0).setData(value);
  }

  private static OBX next(ORU_R01_ORDER_OBSERVATION order, String code, String system, String group, String site)
      throws HL7Exception {
    int n = order.getOBSERVATIONReps();
    OBX obx = order.getOBSERVATION(n).getOBX();
    obx.getObx1_SetIDOBX().setValue(Integer.toString(n + 1));
    obx.getObx3_ObservationIdentifier().getCwe1_Identifier().setValue(code);
    obx.getObx3_ObservationIdentifier().getCwe3_NameOfCodingSystem().setValue(system);
    if (!group.isEmpty()) {
      obx.getObx4_ObservationSubID().setValue(group);
    }
    obx.getObx11_ObservationResultStatus().setValue("F");
    if (!site.isEmpty()) {
      obx.getObx20_ObservationSite(0).getCwe1_Identifier().setValue(site);
      obx.getObx20_ObservationSite(0).getCwe3_NameOfCodingSystem().setValue("SCT");
    }
    return obx;
  }
}
