#!/usr/bin/env bash
# Makes the image from a binary of this tree and runs it as it runs in
# production, but on the loopback interface: deploy/image.sh
#
# Needs podman, curl and Go. Leaves no image and no container behind. Uses the
# ports 19090, 18080 and 19464.
set -euo pipefail
cd "$(dirname "$0")/.."

if ! command -v podman >/dev/null; then
	echo "no container engine: not run"
	exit
fi

# A ceiling to notice growth by. The binary was measured at 25.0 MB.
most_bytes=27000000
# Wanted: an update is pulled in a moment.
most_pulled=20000000
scenario=testdata/scenarios/ten-visits
scratch=$(mktemp -d)

# engine is podman with what works within another container too: a storage of
# its own without a file system driver of the kernel's, and no systemd.
engine() {
	podman --root "$scratch/storage" --runroot "$scratch/run" --storage-driver=vfs --cgroup-manager=cgroupfs \
		--runtime "$(command -v runc || command -v crun)" "$@"
}

# clean_up removes the storage, anew if podman's own cleaning wrote into it.
clean_up() {
	engine rm --force --all >/dev/null || true
	until rm -rf "$scratch" 2>/dev/null; do sleep 1; done
}
trap clean_up EXIT

fail() {
	echo "image: $*" >&2
	engine logs evenreach >&2 || true
	exit 1
}

# Without the commit, because the golden answers name the version "development".
mkdir "$scratch/bin"
CGO_ENABLED=0 go build -buildvcs=false -tags grpcnotrace -trimpath -ldflags "-s -w" -o "$scratch/bin/evenreach" ./cmd/evenreach
engine build --quiet --isolation=chroot --network=host -f deploy/Dockerfile.binary -t evenreach "$scratch/bin" >/dev/null

bytes=$(engine image inspect --format '{{.Size}}' evenreach)
((bytes < most_bytes)) || fail "has $bytes bytes, want less than $most_bytes"

# What a registry keeps and a machine pulls: the layers as they are pushed.
engine push --quiet --compression-format gzip evenreach "oci:$scratch/pushed" >/dev/null
pulled=$(cat "$scratch"/pushed/blobs/sha256/* | wc -c)
((pulled > 0 && pulled < most_pulled)) || fail "has $pulled bytes compressed, want some and less than $most_pulled"

# The limits are given because podman asks for more than it may be allowed.
engine run --detach --name evenreach --read-only --cap-drop=ALL --network=host \
	--ulimit nofile=4096:4096 --ulimit nproc=1024:1024 \
	-e EVENREACH_INSECURE_NO_AUTH=true -e EVENREACH_GRPC_ADDRESS=127.0.0.1:19090 \
	-e EVENREACH_HTTP_ADDRESS=127.0.0.1:18080 -e EVENREACH_ADMIN_ADDRESS=127.0.0.1:19464 evenreach >/dev/null
user=$(engine inspect --format '{{.Config.User}}' evenreach)
[[ $user == 65532:65532 ]] || fail "runs as $user, want 65532:65532"

curl --fail --silent --show-error --output /dev/null --retry 20 --retry-delay 1 --retry-connrefused \
	http://127.0.0.1:19464/readyz || fail "is not ready"
curl --fail --silent --show-error --output "$scratch/answer.json" -H 'Content-Type: application/fhir+json' \
	--data-binary "@$scenario/input.json" 'http://127.0.0.1:18080/fhir/$assess-shoulder?_pretty=true' || fail "does not answer"
cmp "$scratch/answer.json" "$scenario/golden.json" || fail "answers otherwise than $scenario/golden.json"

# SIGTERM; 40 s as in the Deployment.
engine stop --time 40 evenreach >/dev/null
code=$(engine inspect --format '{{.State.ExitCode}}' evenreach)
[[ $code == 0 ]] || fail "ends with $code after SIGTERM, want 0"
echo "image: $bytes bytes, $pulled compressed; ready, answered as expected, ended with 0 after SIGTERM"
