#!/usr/bin/env bash
# Writes how a binary was built, as the predicate of SLSA provenance (version 1) that cosign and others
# sign: deploy/provenance.sh BINARY SOURCE BUILDER
#
# SOURCE is where the commit can be had, such as https://git.hospital.example/evenreach; BUILDER says who built it, as
# an address. What else there is comes from the binary, which must be of a commit without changes. Needs Go and jq.
#
# Source: SLSA 1.0, provenance.
set -euo pipefail
[[ $# == 3 ]] || { echo "usage: $0 BINARY SOURCE BUILDER" >&2; exit 2; }
binary=$1 source=$2 builder=$3

about=$(go version -m "$binary")
setting() { sed -n "s/^\tbuild\t$1=//p" <<<"$about"; }
commit=$(setting vcs.revision)
if [[ -z $commit || $(setting vcs.modified) != false ]]; then
	echo "$0: $binary is not of a commit without changes" >&2
	exit 1
fi
jq -n --arg source "git+$source" --arg builder "$builder" --arg commit "$commit" --arg time "$(setting vcs.time)" \
	--arg go "$(sed -n '1s/.*: go//p' <<<"$about")" --arg platform "$(setting GOOS)/$(setting GOARCH)" '{
	buildDefinition: {
		buildType: "https://evenreach.example/deploy/README.md#a-release",
		externalParameters: {source: $source, commit: $commit, platform: $platform},
		resolvedDependencies: [
			{uri: ($source + "@" + $commit), digest: {gitCommit: $commit}, annotations: {committed: $time}},
			{uri: ("pkg:golang/std@" + $go)}
		]
	},
	runDetails: {builder: {id: $builder}}
}'
