module evenreach.example/thirdparty

go 1.26.0

require (
	github.com/CycloneDX/cyclonedx-go v0.12.0
	github.com/google/licensecheck v0.3.1
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3
)

require golang.org/x/text v0.14.0 // indirect
