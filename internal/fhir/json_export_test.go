package fhir

// Elements is the table of elements, for the tests of what Encode writes.
var Elements = elements
