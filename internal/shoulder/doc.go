// Package shoulder is the vocabulary of a shoulder re-check: sides, motions,
// arm positions, measurements, sessions, and the episode that they make up.
//
// The words that the whole program uses, each with one meaning:
//
//	involved side     the side that is treated; the other is the comparison side
//	motion            what is tested: external or internal rotation, abduction
//	trained motion    a motion with steps of training: the rotations
//	position          where the arm is: at the side, 90 degrees of flexion or abduction, ...
//	support           whether the arm lies on something (supported) or is held free
//	trial             one strength value that an instrument showed
//	setting           what a test is of: motion, position, support, contraction, instrument
//	test              all that must agree before results are compared: of a strength its
//	                  setting, side and dimension; of a range or pain its kind
//	session           what was measured at one visit; sessions are ordered, oldest first
//	episode           one patient's shoulder over time: its sessions and statements
//	reading           what intake understood of the FHIR resources of one request
//	source            the input that a measurement came from
//	score             what the trials of one test in one session come to
//	index             100 x involved / comparison side: the limb symmetry index, in %
//	deciding index    of a session, a motion and a position the one that decides
//	outcome measure   a measure of one number that the protocol adds, such as a score
//	carried forward   said of a comparison score that is from an earlier session
//	current           young enough to decide with on the day of the assessment
//	stale             not current
//	change            the difference between two scores of one test
//	doubt             why a score has to be repeated or confirmed before it decides
//	red flag          what calls for an examination before any load
//	criterion         one rule held against one value, with its verdict
//	step              the position in which a motion is trained now, and its support
//	even, good enough the thresholds of the index (90 and 75 % by default)
//	confirmed         even in two sessions that bear each other out
package shoulder
