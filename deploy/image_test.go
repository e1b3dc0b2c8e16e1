package deploy_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// instructions returns the instructions of a Dockerfile, one a string, without
// comments and with continued lines joined.
func instructions(t *testing.T, name string) []string {
	t.Helper()
	joined := strings.ReplaceAll(string(read(t, name)), "\\\n", "")
	var list []string
	for line := range strings.Lines(joined) {
		if line = strings.Join(strings.Fields(line), " "); line != "" && !strings.HasPrefix(line, "#") {
			list = append(list, line)
		}
	}
	return list
}

// finalStage returns the instructions of a Dockerfile from its last FROM on.
func finalStage(t *testing.T, name string) []string {
	t.Helper()
	all := instructions(t, name)
	for i, instruction := range slices.Backward(all) {
		if strings.HasPrefix(instruction, "FROM ") {
			return all[i:]
		}
	}
	t.Fatalf("%s has no FROM", name)
	return nil
}

func TestImageHoldsTheBinaryAlone(t *testing.T) {
	want := map[string]string{
		"Dockerfile":        "COPY --from=build /out/evenreach /evenreach",
		"Dockerfile.binary": "COPY evenreach /evenreach",
	}
	for name, copied := range want {
		stage := finalStage(t, name)
		if stage[0] != "FROM scratch" {
			t.Errorf("%s: final stage %q, want FROM scratch: no shell, nothing to patch", name, stage[0])
		}
		for _, instruction := range stage {
			verb, _, _ := strings.Cut(instruction, " ")
			if slices.Contains([]string{"ADD", "COPY", "RUN"}, verb) && instruction != copied {
				t.Errorf("%s: %q, want only %q", name, instruction, copied)
			}
		}
		if !slices.Contains(stage, copied) {
			t.Errorf("%s: does not %q", name, copied)
		}
	}
}

func TestBinaryIsStatic(t *testing.T) {
	want := `RUN CGO_ENABLED=0 go build ` + buildFlags + ` -o /out/evenreach ./cmd/evenreach`
	if !slices.Contains(instructions(t, "Dockerfile"), want) {
		t.Errorf("Dockerfile does not build by %q: scratch has no C library", want)
	}
}

// buildFlags make the binary small, and the same in whatever folder.
const buildFlags = `-tags grpcnotrace -trimpath -ldflags "-s -w"`

func TestEveryBuildHasTheSameFlags(t *testing.T) {
	for _, name := range []string{"Dockerfile", "Dockerfile.binary", "README.md", "image.sh", "../.ci/run"} {
		builds := 0
		for line := range strings.Lines(string(read(t, name))) {
			if !strings.Contains(line, "CGO_ENABLED=0 go build") {
				continue
			}
			builds++
			if !strings.Contains(line, buildFlags) {
				t.Errorf("%s: %q, want %s", name, line, buildFlags)
			}
		}
		if builds == 0 {
			t.Errorf("%s builds nothing", name)
		}
	}
}

// Both programs are built with the Go that has known faults mended.
func TestBothProgramsAskForTheSameGo(t *testing.T) {
	asked := regexp.MustCompile(`(?m)^toolchain \S+$`)
	want, got := asked.Find(read(t, "../go.mod")), asked.Find(read(t, "../population/go.mod"))
	if want == nil || string(got) != string(want) {
		t.Errorf("population/go.mod asks for %q, go.mod for %q; want the same", got, want)
	}
}

func TestImageAgreesWithDeployment(t *testing.T) {
	m := loadBase(t)
	security := deref(m.deployment.Spec.Template.Spec.SecurityContext)
	expose := "EXPOSE"
	for _, p := range container(m).Ports {
		expose += fmt.Sprintf(" %d", p.ContainerPort)
	}
	for _, name := range []string{"Dockerfile", "Dockerfile.binary"} {
		stage := finalStage(t, name)
		for _, want := range []string{
			fmt.Sprintf("USER %d:%d", deref(security.RunAsUser), deref(security.RunAsGroup)),
			expose,
			`ENTRYPOINT ["/evenreach"]`,
			`CMD ["` + strings.Join(container(m).Args, `", "`) + `"]`,
		} {
			if !slices.Contains(stage, want) {
				t.Errorf("%s: no %q", name, want)
			}
		}
	}
}

func TestBothDockerfilesMakeTheSameImage(t *testing.T) {
	withoutCopy := func(name string) []string {
		return slices.DeleteFunc(finalStage(t, name), func(instruction string) bool {
			return strings.HasPrefix(instruction, "COPY ")
		})
	}
	source, binary := withoutCopy("Dockerfile"), withoutCopy("Dockerfile.binary")
	if !slices.Equal(source, binary) {
		t.Errorf("final stages differ:\n%q\n%q", source, binary)
	}
}
