module evenreach.example/protos

go 1.26.0

require (
	github.com/google/fhir/go v0.7.4
	github.com/jhump/protoreflect/v2 v2.0.0
	google.golang.org/genproto/googleapis/api v0.0.0-20261110000943-09e21b237f2c
	google.golang.org/protobuf v1.36.12
)

require (
	github.com/golang/protobuf v1.5.4 // indirect
	google.golang.org/genproto/googleapis/rpc v0.0.0-20261104224025-d1e00e9f33ab // indirect
)
