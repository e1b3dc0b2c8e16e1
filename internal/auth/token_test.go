package auth

import (
	"encoding/base64"
	"strings"
	"testing"
	"time"

	"github.com/go-jose/go-jose/v4"

	"evenreach.example/internal/auth/authtest"
	"evenreach.example/internal/fault"
)

func TestTokens(t *testing.T) {
	in := func(d time.Duration) int64 { return time.Now().Add(d).Unix() }
	claim := func(name string, value any) func(authtest.Token) authtest.Token {
		return func(t authtest.Token) authtest.Token { return t.With(map[string]any{name: value}) }
	}
	signed := func(change func(*authtest.Token)) func(authtest.Token) authtest.Token {
		return func(t authtest.Token) authtest.Token {
			change(&t)
			return t
		}
	}
	expiring := func(name string, d time.Duration) func(authtest.Token) authtest.Token {
		return func(t authtest.Token) authtest.Token { return t.With(map[string]any{name: in(d)}) }
	}
	tests := []struct {
		name   string
		change func(authtest.Token) authtest.Token
		want   Reason
		source string
	}{
		{"ES384", signed(func(*authtest.Token) {}), "", "SMART Backend Services"},
		{"RS384", signed(func(t *authtest.Token) { t.Algorithm, t.Key, t.KeyID = jose.RS384, authtest.RSA(), "rsa" }), "", "SMART Backend Services"},
		{"RS256 is not by default", signed(func(t *authtest.Token) { t.Algorithm, t.Key, t.KeyID = jose.RS256, authtest.RSA(), "rsa" }), Algorithm, "configuration"},
		{"no typ", signed(func(t *authtest.Token) { t.Type = "" }), "", "RFC 7519, 5.1: optional"},
		{"critical headers, none of them", signed(func(t *authtest.Token) { t.Headers = map[string]any{"crit": []string{}} }), Malformed, "RFC 7515, 4.1.11: not empty"},
		{"critical header that go-jose knows", signed(func(t *authtest.Token) { t.Headers = map[string]any{"crit": []string{"b64"}, "b64": true} }), Malformed, "RFC 7515, 4.1.11: understood or refused"},
		{"typ JWT", signed(func(t *authtest.Token) { t.Type = "JWT" }), "", "RFC 7519, 5.1"},
		{"typ as media type", signed(func(t *authtest.Token) { t.Type = "application/AT+JWT" }), "", "RFC 9068, 4"},
		{"typ of a logout token", signed(func(t *authtest.Token) { t.Type = "logout+jwt" }), Type, "RFC 8725, 3.11"},
		{"no kid", signed(func(t *authtest.Token) { t.KeyID = "" }), Malformed, "SMART: kid is required"},
		{"kid of another key", signed(func(t *authtest.Token) { t.KeyID = "rsa" }), UnknownKey, "RFC 8725, 3.1: key and algorithm agree"},
		{"key of somebody else", signed(func(t *authtest.Token) { t.Algorithm, t.Key, t.KeyID = jose.RS384, authtest.Short(), "rsa" }), Signature, "RFC 7515, 5.2"},

		{"over the limit", claim("padding", strings.Repeat("x", maxToken)), Malformed, "our limit"},

		{"bound to a certificate", claim("cnf", map[string]any{"x5t#S256": "bwcK0esc3ACC3DB2Y5_lESsXE8o9ltc05O89jdN-dg2"}), Bound, "RFC 8705, 3.1: a thief must not use it as a plain bearer token"},
		{"bound to a key", claim("cnf", map[string]any{"jkt": "0ZcOCORZNYy-DWpqq30jZyJGHTN0d2HglBV3uiguA4I"}), Bound, "RFC 9449, 6.1: the same"},
		{"bound by what nobody knows", claim("cnf", map[string]any{}), Bound, "RFC 7800, 3.1: what is not understood is not ignored"},

		{"aud among others", claim("aud", []string{"https://other.example", authtest.Audience}), "", "RFC 7519, 4.1.3"},
		{"another aud", claim("aud", "https://other.example"), Audience, "RFC 7519, 4.1.3"},
		{"aud with more path", claim("aud", authtest.Audience+"/"), Audience, "RFC 7519, 4.1.3: compared as it is"},
		{"no aud", claim("aud", nil), Audience, "RFC 9068, 4"},
		{"another iss", claim("iss", "https://other.example"), UnknownIss, "RFC 9068, 4"},
		{"iss with a slash more", claim("iss", issuerName+"/"), UnknownIss, "RFC 9068, 4: exactly"},
		{"no iss", claim("iss", nil), UnknownIss, "RFC 9068, 4"},

		{"no exp", claim("exp", nil), Malformed, "RFC 9068, 2.2: required"},
		{"exp just past", expiring("exp", -59*time.Second), "", "60 s of leeway"},
		{"exp past", expiring("exp", -61*time.Second), Expired, "60 s of leeway"},
		{"nbf soon", expiring("nbf", 59*time.Second), "", "60 s of leeway"},
		{"nbf later", expiring("nbf", 61*time.Second), NotYetValid, "60 s of leeway"},
		{"no nbf", claim("nbf", nil), "", "RFC 9068, 2.2: optional"},
		{"iat later", expiring("iat", 61*time.Second), NotYetValid, "60 s of leeway"},
		{"exp as text", claim("exp", "tomorrow"), Malformed, "RFC 7519, 2"},

		{"azp for client_id", func(t authtest.Token) authtest.Token {
			return t.With(map[string]any{"client_id": nil, "azp": authtest.ClientID})
		}, "", "OpenID Connect Core, 2"},
		{"another client", claim("client_id", "other"), Client, "allow-list"},
		{"another client_id beside a good azp", func(t authtest.Token) authtest.Token {
			return t.With(map[string]any{"client_id": "other", "azp": authtest.ClientID})
		}, Client, "RFC 9068: client_id"},
		{"no client", claim("client_id", nil), Client, "sub may be a person"},
		{"scope of one patient", claim("scope", "patient/Observation.rs"), Scope, "SMART App Launch 2"},
		{"no scope", claim("scope", nil), Scope, "SMART App Launch 2"},
		{"scope as list", claim("scope", []string{"system/Observation.rs"}), Malformed, "RFC 8693, 4.2: a string"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			inWorld(t, publish(authtest.KeySet()), func(w *world) {
				w.auth.config.Clients = []string{authtest.ClientID}
				if got := w.ask(tt.change(authtest.New(issuerName))); got != tt.want {
					t.Errorf("refused for %q, want %q (%s)", got, tt.want, tt.source)
				}
			})
		})
	}
}

func TestEveryClientOfAnIssuer(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		for client, want := range map[any]Reason{"any": "", "": Client, nil: Client} {
			if got := w.ask(authtest.New(issuerName).With(map[string]any{"client_id": client})); got != want {
				t.Errorf("client %v without an allow-list: refused for %q, want %q", client, got, want)
			}
		}
	})
}

func TestAuthorizationHeader(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		good := authtest.New(issuerName).Sign(t)
		dot := strings.IndexByte(good, '.')
		tests := []struct {
			name   string
			values []string
			want   Reason
			source string
		}{
			{"none", nil, NoToken, "RFC 6750, 3.1"},
			{"empty", []string{""}, NoToken, "RFC 6750, 2.1"},
			{"scheme alone", []string{"Bearer"}, NoToken, "RFC 6750, 2.1"},
			{"another scheme", []string{"Basic dXNlcjpwYXNz"}, NoToken, "RFC 6750, 2.1"},
			{"without scheme", []string{good}, NoToken, "RFC 6750, 2.1"},
			{"lower case", []string{"bearer " + good}, "", "RFC 9110, 11.1"},
			{"two headers", []string{"Bearer " + good, "Bearer " + good}, NoToken, "which counts would be a guess"},
			{"two tokens", []string{"Bearer " + good + ", Bearer " + good}, Malformed, "RFC 6750, 2.1"},
			{"no JWT", []string{"Bearer 123"}, Malformed, "RFC 7515, 3.1"},
			{"encrypted", []string{"Bearer a.b.c.d.e"}, Malformed, "RFC 7516"},
			{"JSON form", []string{`Bearer {"payload":"","signatures":[]}`}, Malformed, "RFC 7515, 7.2"},
			{"cut off", []string{"Bearer " + good[:len(good)-10]}, Signature, "RFC 7515, 5.2"},
			{"payload exchanged", []string{"Bearer " + good[:dot+1] + base64.RawURLEncoding.EncodeToString([]byte(`{"iss":"`+issuerName+`"}`)) + good[strings.LastIndexByte(good, '.'):]}, Signature, "RFC 7515, 5.2"},
			{"too long", []string{"Bearer " + strings.Repeat("a", maxToken+1)}, Malformed, "our limit"},
			{"bytes", []string{"Bearer \x00\xff.\x00.\x00"}, Malformed, "RFC 7515, 3.1"},
		}
		for _, tt := range tests {
			_, err := w.auth.Authenticate(w.t.Context(), Credentials{Authorization: tt.values})
			if got := reasonOf(err); got != tt.want {
				t.Errorf("%s: refused for %q, want %q (%s)", tt.name, got, tt.want, tt.source)
			}
		}
	})
}

func TestCallerIsKnown(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		caller, err := w.auth.Authenticate(w.t.Context(), Credentials{Authorization: []string{"Bearer " + authtest.New(issuerName).Sign(t)}})
		if err != nil {
			t.Fatal(err)
		}
		if want := time.Now().Add(5*time.Minute + leeway); caller.Client != authtest.ClientID || !caller.Until.Equal(want) {
			t.Errorf("caller %+v, want %s until %v", caller, authtest.ClientID, want)
		}
	})
}

// A person is named where the token is about one, and not where it is the client's own.
//
// Source: RFC 9068, section 2.2: sub is the client itself where no resource owner is involved.
func TestPersonOfATokenIsKnown(t *testing.T) {
	inWorld(t, publish(authtest.KeySet()), func(w *world) {
		for subject, want := range map[any]string{authtest.ClientID: "", "user-7": "user-7", nil: ""} {
			token := authtest.New(issuerName).With(map[string]any{"sub": subject}).Sign(t)
			caller, err := w.auth.Authenticate(w.t.Context(), Credentials{Authorization: []string{"Bearer " + token}})
			if err != nil || caller.Person != want {
				t.Errorf("sub %v: the person is %q, want %q: %v", subject, caller.Person, want, err)
			}
		}
	})
}

// Source: RFC 6750, section 3.
func TestChallenges(t *testing.T) {
	for reason, v := range verdicts {
		challenge := refuse(reason).Challenge()
		switch {
		case (v.kind == fault.Unavailable || v.kind == fault.Throttled) && challenge != "":
			t.Errorf("%s: challenge %q, want none: another token would not help", reason, challenge)
		case v.kind != fault.Unavailable && v.kind != fault.Throttled && !strings.HasPrefix(challenge, `Bearer realm="evenreach"`):
			t.Errorf("%s: challenge %q, want the scheme Bearer with a realm", reason, challenge)
		case reason == NoToken && strings.Contains(challenge, "error"):
			t.Errorf("%s: challenge %q, want no error code where no token was sent", reason, challenge)
		case reason == Scope && !strings.Contains(challenge, `error="insufficient_scope"`):
			t.Errorf("%s: challenge %q, want insufficient_scope", reason, challenge)
		case reason == Expired && !strings.Contains(challenge, `error="invalid_token"`):
			t.Errorf("%s: challenge %q, want invalid_token", reason, challenge)
		}
	}
}
