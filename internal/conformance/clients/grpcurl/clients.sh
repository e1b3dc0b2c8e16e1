# Usage: bash clients.sh GRPC GOOD
# Sends the FHIR JSON of the file GOOD to a service with reflection at GRPC, and prints
# the FHIR JSON of the answer. What grpcurl is, is the caller's: a program or a function.
set -euo pipefail
grpc=$1 good=$2

jq '{contentType: "application/fhir+json", data: (tojson | @base64)}' "$good" |
    grpcurl -plaintext -d @ "$grpc" evenreach.v1.AssessmentService/AssessJSON | jq -r '.data | @base64d'
