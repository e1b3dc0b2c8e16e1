package protocol

import (
	"strings"
	"testing"
)

// A share that the text does not name would give another load than the page says.
func TestShareOfADose(t *testing.T) {
	for _, tt := range []struct{ name, file, want string }{
		{"named", `dose: {isometric: {text: "5 holds at 60 % of the strength", share: 60, source: "invented for this test"}}`, ""},
		{"only the text is changed", `dose: {isometric: {text: "5 holds at 60 % of the strength", source: "invented for this test"}}`, "must name the share, 70 %"},
		{"another in the text", `dose: {isometric: {text: "5 holds at 60 % of the strength", share: 50, source: "invented for this test"}}`, "must name the share, 50 %"},
		{"beyond the strength", `dose: {isometric: {text: "5 holds at 160 % of the strength", share: 160, source: "invented for this test"}}`, "from 1 to 100 per cent"},
	} {
		_, err := Load([]byte("id: clinic\nversion: \"1\"\n" + tt.file))
		if tt.want == "" && err != nil || tt.want != "" && (err == nil || !strings.Contains(err.Error(), tt.want)) {
			t.Errorf("%s: %v, want %q", tt.name, err, tt.want)
		}
	}
}
