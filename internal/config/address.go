package config

import (
	"net"
	"net/netip"
	"strconv"
)

// address checks that text is host:port with a port number. The host may be
// empty, for all interfaces.
func (r *resolver) address(option, text string) string {
	_, port, err := net.SplitHostPort(text)
	if err != nil {
		r.report(option, "found %q; expected host:port, such as 127.0.0.1:8080 or :8080", text)
		return ""
	}
	if _, err := strconv.ParseUint(port, 10, 16); err != nil {
		r.report(option, "found the port %q; expected a number from 0 to 65535", port)
		return ""
	}
	return text
}

// distinct reports two addresses that cannot both be listened on. Port 0 stands for
// any free port and never conflicts.
func (r *resolver) distinct(option, address, otherOption, other string) {
	if address == "" || other == "" {
		return
	}
	host, port, _ := net.SplitHostPort(address)
	otherHost, otherPort, _ := net.SplitHostPort(other)
	if port != otherPort || port == "0" {
		return
	}
	if host == otherHost || allInterfaces(host) || allInterfaces(otherHost) {
		r.report(otherOption, "found port %s, which --%s has already; expected another port", port, option)
	}
}

// isLoopback reports whether an address can be reached from this machine only.
// A host name does not count: the address that it resolves to can change.
func isLoopback(address string) bool {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback()
}

// allInterfaces reports whether a host stands for every address of the machine.
func allInterfaces(host string) bool {
	ip, err := netip.ParseAddr(host)
	return host == "" || err == nil && ip.IsUnspecified()
}
