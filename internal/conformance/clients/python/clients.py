"""Sends a Bundle to a running service by four clients, and prints what each reads.

Usage: clients.py FHIR GRPC CASES STUBS

FHIR is the base address, GRPC host and port. CASES is a folder with good and bad
Bundles (good.json, bad.json) and the same as encoded AssessRequests (good.binpb,
bad.binpb). STUBS has what grpcio-tools made of the .proto files. Prints a line for
each client: its name, a tab, and what it read as JSON.
"""
import json
import sys
from collections import Counter
from pathlib import Path
from urllib.error import HTTPError
from urllib.request import Request, urlopen

OPERATION = "$assess-shoulder"
base, target, cases, stubs = sys.argv[1], sys.argv[2], Path(sys.argv[3]), sys.argv[4]
good, bad = (json.loads((cases / f"{name}.json").read_text()) for name in ("good", "bad"))


def say(name, types, plan, indices, diagnostics):
    print(name, json.dumps({
        "types": Counter(types), "plan": plan,
        "indices": sorted(float(i) for i in indices), "diagnostics": diagnostics,
    }), sep="\t")


def summary(bundle, of_type):
    """What was read, of a Bundle whose elements have FHIR's names."""
    resources = [e.resource for e in bundle.entry]
    plan = next(r for r in resources if of_type(r) == "CarePlan")
    indices = [r.valueQuantity.value for r in resources
               if of_type(r) == "Observation" and r.code.coding[0].code == "limb-symmetry-index"]
    return [of_type(r) for r in resources], plan.status, indices


def by_fhir_resources():
    from fhir.resources.R4B.bundle import Bundle
    from fhir.resources.R4B.operationoutcome import OperationOutcome

    def post(body):
        sent = Bundle.model_validate(body).model_dump_json().encode()
        request = Request(f"{base}/{OPERATION}", sent, {"Content-Type": "application/fhir+json"})
        with urlopen(request) as answer:
            return Bundle.model_validate_json(answer.read())

    read = summary(post(good), lambda r: r.get_resource_type())
    try:
        post(bad)
        raise SystemExit("fhir.resources: not refused")
    except HTTPError as refused:
        outcome = OperationOutcome.model_validate_json(refused.read())
    say("fhir.resources", *read, outcome.issue[0].diagnostics)


def by_fhirclient():
    from fhirclient.client import FHIRClient
    from fhirclient.models.bundle import Bundle
    from fhirclient.models.operationoutcome import OperationOutcome
    from requests import HTTPError as Refused

    server = FHIRClient(settings={"app_id": "record", "api_base": base + "/"}).server
    answer = server.post_json(OPERATION, Bundle(good).as_json())
    read = summary(Bundle(answer.json()), lambda r: r.resource_type)
    try:
        server.post_json(OPERATION, Bundle(bad).as_json())
        raise SystemExit("fhirclient: not refused")
    except Refused as refused:
        outcome = OperationOutcome(refused.response.json())
    say("fhirclient", *read, outcome.issue[0].diagnostics)


def by_fhirpy():
    from fhirpy import SyncFHIRClient
    from fhirpy.base.exceptions import OperationOutcome

    client = SyncFHIRClient(base)
    answer = client.resource("Bundle", **client.execute(OPERATION, method="POST", data=good))
    resources = [e["resource"] for e in answer["entry"]]
    plan = next(r["status"] for r in resources if r["resourceType"] == "CarePlan")
    indices = [r["valueQuantity"]["value"] for r in resources
               if r.get("code", {}).get("coding", [{}])[0].get("code") == "limb-symmetry-index"]
    try:
        client.execute(OPERATION, method="POST", data=bad)
        raise SystemExit("fhirpy: not refused")
    except OperationOutcome as refused:
        diagnostics = refused.resource["issue"][0].get("diagnostics")
    say("fhirpy", [r["resourceType"] for r in resources], plan, indices, diagnostics)


def by_grpc():
    import grpc
    from grpc_status import rpc_status
    sys.path.insert(0, stubs)
    from evenreach.v1.assessment_pb2 import AssessRequest
    from evenreach.v1.assessment_pb2_grpc import AssessmentServiceStub
    from proto.google.fhir.proto.r4.core.codes_pb2 import RequestStatusCode
    from proto.google.fhir.proto.r4.core.resources.operation_outcome_pb2 import OperationOutcome

    with grpc.insecure_channel(target) as channel:
        service = AssessmentServiceStub(channel)
        answer = service.Assess(AssessRequest.FromString((cases / "good.binpb").read_bytes()))
        entries = [(e.resource.WhichOneof("oneof_resource"), e.resource) for e in answer.bundle.entry]
        types = ["".join(word.capitalize() for word in kind.split("_")) for kind, _ in entries]
        plan = next(r.care_plan for kind, r in entries if kind == "care_plan")
        status = RequestStatusCode.Value.Name(plan.status.value).lower()
        indices = [r.observation.value.quantity.value.value for kind, r in entries
                   if kind == "observation" and r.observation.code.coding[0].code.value == "limb-symmetry-index"]
        try:
            service.Assess(AssessRequest.FromString((cases / "bad.binpb").read_bytes()))
            raise SystemExit("grpcio: not refused")
        except grpc.RpcError as refused:
            outcome = OperationOutcome()
            rpc_status.from_call(refused).details[0].Unpack(outcome)
    say("grpcio", types, status, indices, outcome.issue[0].details.text.value)


for client in (by_fhir_resources, by_fhirclient, by_fhirpy, by_grpc):
    client()
