package main

import _ "embed"

// The licences ask for their texts to go with the binary: in it, they do
// wherever it is copied.
//
//go:embed THIRD-PARTY.md
var thirdParty []byte
