//go:build resilience

package resilience

import (
	"context"
	_ "embed"
	"encoding/csv"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"text/template"
)

//go:embed haproxy.cfg
var configuration string

// proxy is haproxy before some replicas.
type proxy struct {
	REST, GRPC, Stats string
	Connections       string // REST, by connections
	Replicas          []*replica
}

// startProxy starts haproxy before replicas that are ready.
func startProxy(t *testing.T, replicas []*replica) *proxy {
	t.Helper()
	p := &proxy{REST: freeAddress(t), GRPC: freeAddress(t), Stats: freeAddress(t), Connections: freeAddress(t), Replicas: replicas}
	file := filepath.Join(t.TempDir(), "haproxy.cfg")
	out, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	port := func(address string) (string, error) {
		_, port, err := net.SplitHostPort(address)
		return port, err
	}
	err = template.Must(template.New("").Funcs(template.FuncMap{"port": port}).Parse(configuration)).Execute(out, p)
	if err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	command := exec.CommandContext(context.Background(), "haproxy", "-db", "-f", file)
	var says strings.Builder
	command.Stderr = &says
	if err := command.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = command.Process.Kill()
		_ = command.Wait() // it says that it was killed
		if t.Failed() {
			t.Logf("the proxy says:\n%s", &says)
		}
	})
	eventually(t, "the proxy sees every replica", func() bool { return p.count("status", "UP") == 3*len(replicas) })
	return p
}

// rows are what the proxy says of each replica, once for each of its ways, by the
// names of the columns.
func (p *proxy) rows() (rows []map[string]string) {
	request, err := http.NewRequestWithContext(context.Background(), http.MethodGet, "http://"+p.Stats+"/;csv", nil)
	if err != nil {
		return nil
	}
	answer, err := unpooled.Do(request)
	if err != nil {
		return nil
	}
	defer answer.Body.Close()
	lines, err := csv.NewReader(answer.Body).ReadAll()
	if err != nil || len(lines) == 0 {
		return nil
	}
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, name := range lines[0] {
			row[name] = line[i]
		}
		if !slices.Contains([]string{"FRONTEND", "BACKEND"}, row["svname"]) {
			rows = append(rows, row)
		}
	}
	return rows
}

// count is the number of rows with a value.
func (p *proxy) count(column, value string) (n int) {
	for _, row := range p.rows() {
		if row[column] == value {
			n++
		}
	}
	return n
}

// sum adds up the numbers of a column.
func (p *proxy) sum(column string) (sum int) {
	for _, row := range p.rows() {
		if n, err := strconv.Atoi(row[column]); err == nil {
			sum += n
		}
	}
	return sum
}
