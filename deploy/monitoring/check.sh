#!/usr/bin/env bash
# Checks the alert rules and runs their tests: deploy/monitoring/check.sh
#
# Needs promtool, of the Debian package prometheus or as PROMTOOL says. With
# --rules it prints the plain rules instead, for a Prometheus without operator.
set -euo pipefail
cd "$(dirname "$0")"

# rules takes the rules out of the resource: all below spec, two columns left.
rules() { sed -e '1,/^spec:$/d' -e 's/^  //' prometheusrule.yaml; }

if [[ ${1-} == --rules ]]; then
	rules
	exit
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
rules >"$scratch/rules.yaml"
cp alerts_test.yaml "$scratch"
"${PROMTOOL:-promtool}" check rules "$scratch/rules.yaml"
"${PROMTOOL:-promtool}" test rules "$scratch/alerts_test.yaml"
