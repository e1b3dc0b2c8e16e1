package shoulder

// LoadPhase is how much load a shoulder may bear after a cuff repair. Each phase
// permits what the one before it does, and more.
//
// Source: the order follows Thigpen et al. 2016, J Shoulder Elbow Surg
// 25:521-35; the division into these phases is ours.
type LoadPhase uint8

// The phases, from the most careful.
const (
	LoadNone              LoadPhase = iota // no resisted work
	LoadSubmaximalAtSide                   // sub-maximal work with the arm at the side
	LoadProgressiveAtSide                  // progressive work with the arm at the side
	LoadElevated                           // resisted work in elevated positions
	LoadFunctional                         // functional work
	LoadSport                              // sport with load or contact
)

// LoadPhases lists the phases from the most careful.
var LoadPhases = [...]LoadPhase{
	LoadNone, LoadSubmaximalAtSide, LoadProgressiveAtSide, LoadElevated, LoadFunctional, LoadSport,
}

// String is the code of the phase in the project's code system.
func (p LoadPhase) String() string {
	return name(p, "load-none", "load-submaximal-at-side", "load-progressive-at-side", "load-elevated", "load-functional", "load-sport")
}

// NeededAt is the phase from which an arm position may be loaded.
func NeededAt(position ArmPosition) LoadPhase {
	if position.Elevated() {
		return LoadElevated
	}
	return LoadSubmaximalAtSide
}

// RepairKind is how the cuff was repaired, as far as the record says.
type RepairKind uint8

// The kinds of repair.
const (
	RepairUnstated RepairKind = iota
	RepairOfCuff
	RepairBySuture
	RepairOfAcuteSupraspinatusTear
	RepairOfOldSupraspinatusTear
	RepairOfCuffAvulsion
	RepairInHistory // known as history only
	RepairPossible  // an operation on the shoulder that nobody can tell from a repair
)

// String names the kind.
func (k RepairKind) String() string {
	return name(k, "unstated", "cuff-repair", "repair-by-suture", "acute-supraspinatus-repair",
		"old-supraspinatus-repair", "cuff-avulsion-repair", "history-of-repair", "possible-repair")
}
