#!/usr/bin/env bash
# Checks the alert rules, the dashboard's queries and the runbook's commands, and runs the tests of rules
# and panels: deploy/monitoring/check.sh
#
# Needs jq and promtool, of the Debian package prometheus or as PROMTOOL says. With
# --rules it prints the plain rules instead, for a Prometheus without operator.
set -euo pipefail
cd "$(dirname "$0")"

# rules takes the rules out of the resource: all below spec, two columns left.
rules() { sed -e '1,/^spec:$/d' -e 's/^  //' prometheusrule.yaml; }

# panels makes of each query of the dashboard a rule that records it, so that promtool says
# whether it can be asked, and what it gives.
panels() {
	jq '{groups: [{name: "panels", rules: [.panels[] | .id as $id | .targets[] |
		{record: "panel:\($id):\(.refId)", expr: (.expr | gsub("\\$__[a-z_]+"; "5m"))}]}]}' dashboard.json
}

# asked makes a rule of each query that the runbook asks, for the same reason.
asked() {
	sed -n "s/^    ask '\(.*\)'\$/\1/p" runbook.md | jq -Rn '{groups: [{name: "runbook", rules: [inputs | {record: "asked:\(input_line_number)", expr: .}]}]}'
}

if [[ ${1-} == --rules ]]; then
	rules
	exit
fi
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
rules >"$scratch/rules.yaml"
panels >"$scratch/panels.yaml"
asked >"$scratch/asked.yaml"
cp alerts_test.yaml panels_test.yaml "$scratch"
"${PROMTOOL:-promtool}" check rules "$scratch/rules.yaml" "$scratch/panels.yaml" "$scratch/asked.yaml"
sed -n 's/^    //p' runbook.md | bash -n
grep -o "jq -r '[^']*'" runbook.md | sed 's|$| </dev/null|' | bash -e
"${PROMTOOL:-promtool}" test rules "$scratch/alerts_test.yaml" "$scratch/panels_test.yaml"
