// Package encoded is the contract of api/evenreach/v1 with FHIR resources as their
// bytes, which the service reads and writes without making messages of them. On the
// wire its messages are those of the contract, from which it is generated.
//
// A resource is a repeated field, because it may come in several parts: those of a
// message that occurs several times are merged, which their bytes are one behind the
// other.
package encoded
