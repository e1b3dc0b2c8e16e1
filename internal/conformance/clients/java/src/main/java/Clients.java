import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import ca.uhn.fhir.rest.server.exceptions.BaseServerResponseException;
import com.google.gson.Gson;
import com.google.protobuf.Any;
import com.google.protobuf.DescriptorProtos.FileDescriptorProto;
import com.google.protobuf.DescriptorProtos.FileDescriptorSet;
import com.google.protobuf.Descriptors.Descriptor;
import com.google.protobuf.Descriptors.FieldDescriptor;
import com.google.protobuf.Descriptors.FileDescriptor;
import com.google.protobuf.DynamicMessage;
import com.google.protobuf.Message;
import io.grpc.CallOptions;
import io.grpc.ManagedChannel;
import io.grpc.MethodDescriptor;
import io.grpc.StatusRuntimeException;
import io.grpc.netty.shaded.io.grpc.netty.NettyChannelBuilder;
import io.grpc.protobuf.ProtoUtils;
import io.grpc.protobuf.StatusProto;
import io.grpc.stub.ClientCalls;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Resource;

/**
 * Sends a Bundle to a running service by two clients, and prints what each reads.
 *
 * <p>Arguments: the base address of FHIR, host and port of gRPC, a folder with good and bad Bundles
 * (good.json, bad.json) and the same as encoded AssessRequests (good.binpb, bad.binpb), and the
 * .proto files as a FileDescriptorSet. Prints a line for each client: its name, a tab, and what it
 * read as JSON.
 */
public final class Clients {
  private Clients() {}

  /** What a client has read. */
  private static final class Read {
    final Map<String, Integer> types = new TreeMap<>();
    String plan;
    final List<Double> indices = new ArrayList<>();
    String diagnostics;

    void say(String name) {
      indices.sort(null);
      System.out.println(name + "\t" + new Gson().toJson(this));
    }
  }

  public static void main(String[] args) throws Exception {
    Path cases = Path.of(args[2]);
    byHapi(args[0], cases);
    byGrpc(args[1], cases, Path.of(args[3]));
  }

  private static void byHapi(String base, Path cases) throws Exception {
    FhirContext context = FhirContext.forR4();
    context.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.ONCE);
    IGenericClient client = context.newRestfulGenericClient(base);
    Read read = new Read();
    for (Bundle.BundleEntryComponent entry : assess(client, cases.resolve("good.json")).getEntry()) {
      Resource resource = entry.getResource();
      read.types.merge(resource.fhirType(), 1, Integer::sum);
      if (resource instanceof CarePlan plan) {
        read.plan = plan.getStatus().toCode();
      } else if (resource instanceof Observation o
          && o.getCode().getCodingFirstRep().getCode().equals("limb-symmetry-index")) {
        read.indices.add(o.getValueQuantity().getValue().doubleValue());
      }
    }
    try {
      assess(client, cases.resolve("bad.json"));
      throw new IllegalStateException("not refused");
    } catch (BaseServerResponseException refused) {
      read.diagnostics = ((OperationOutcome) refused.getOperationOutcome()).getIssueFirstRep().getDiagnostics();
    }
    read.say("HAPI");
  }

  private static Bundle assess(IGenericClient client, Path file) throws Exception {
    Bundle bundle = client.getFhirContext().newJsonParser().parseResource(Bundle.class, Files.readString(file));
    return client.operation().onServer().named("$assess-shoulder")
        .withParameter(Parameters.class, "bundle", bundle).returnResourceType(Bundle.class).execute();
  }

  private static void byGrpc(String target, Path cases, Path set) throws Exception {
    Map<String, FileDescriptor> files = loaded(FileDescriptorSet.parseFrom(Files.readAllBytes(set)));
    FileDescriptor contract = files.get("evenreach/v1/assessment.proto");
    Descriptor asked = contract.findMessageTypeByName("AssessRequest");
    MethodDescriptor<Message, Message> method = MethodDescriptor.<Message, Message>newBuilder()
        .setType(MethodDescriptor.MethodType.UNARY)
        .setFullMethodName("evenreach.v1.AssessmentService/Assess")
        .setRequestMarshaller(ProtoUtils.marshaller(DynamicMessage.getDefaultInstance(asked)))
        .setResponseMarshaller(ProtoUtils.marshaller(
            DynamicMessage.getDefaultInstance(contract.findMessageTypeByName("AssessResponse"))))
        .build();
    ManagedChannel channel = NettyChannelBuilder.forTarget(target).usePlaintext().build();
    Read read = new Read();
    Message good = DynamicMessage.parseFrom(asked, Files.readAllBytes(cases.resolve("good.binpb")));
    Message answer = ClientCalls.blockingUnaryCall(channel, method, CallOptions.DEFAULT, good);
    for (Object entry : (List<?>) field(field(answer, "bundle"), "entry")) {
      add(read, (Message) field(entry, "resource"));
    }
    try {
      Message bad = DynamicMessage.parseFrom(asked, Files.readAllBytes(cases.resolve("bad.binpb")));
      ClientCalls.blockingUnaryCall(channel, method, CallOptions.DEFAULT, bad);
      throw new IllegalStateException("not refused");
    } catch (StatusRuntimeException refused) {
      Any detail = StatusProto.fromThrowable(refused).getDetails(0);
      Descriptor outcome = files.get("proto/google/fhir/proto/r4/core/resources/operation_outcome.proto")
          .findMessageTypeByName("OperationOutcome");
      Object issue = ((List<?>) field(DynamicMessage.parseFrom(outcome, detail.getValue()), "issue")).get(0);
      read.diagnostics = (String) field(field(field(issue, "details"), "text"), "value");
    }
    channel.shutdownNow();
    read.say("grpc-java");
  }

  /** Loads files, each after what it imports. */
  private static Map<String, FileDescriptor> loaded(FileDescriptorSet set) throws Exception {
    Map<String, FileDescriptor> files = new HashMap<>();
    for (FileDescriptorProto file : set.getFileList()) { // the order of a set is that of the imports
      FileDescriptor[] imports =
          file.getDependencyList().stream().map(files::get).toArray(FileDescriptor[]::new);
      files.put(file.getName(), FileDescriptor.buildFrom(file, imports));
    }
    return files;
  }

  private static void add(Read read, Message contained) {
    FieldDescriptor kind = contained.getOneofFieldDescriptor(contained.getDescriptorForType().getOneofs().get(0));
    Message resource = (Message) contained.getField(kind);
    read.types.merge(kind.getMessageType().getName(), 1, Integer::sum);
    if (kind.getName().equals("care_plan")) {
      read.plan = field(field(resource, "status"), "value").toString().toLowerCase();
    } else if (kind.getName().equals("observation")) {
      Object coding = ((List<?>) field(field(resource, "code"), "coding")).get(0);
      if (field(field(coding, "code"), "value").equals("limb-symmetry-index")) {
        Object quantity = field(field(resource, "value"), "quantity");
        read.indices.add(Double.valueOf((String) field(field(quantity, "value"), "value")));
      }
    }
  }

  private static Object field(Object message, String name) {
    Message m = (Message) message;
    return m.getField(m.getDescriptorForType().findFieldByName(name));
  }
}
