// Package population assesses every shoulder of an export. The lines of an export stand in
// no order, so they are sorted by patient first, and then each patient is a request like
// any other: the pipeline of the service answers it.
//
//	Sift     a line to the patient that it is about, or the reason why it is not used
//	Scatter  the lines of all files into partitions on disk, by a digest of the patient
//	Gather   the lines of a partition, patient by patient
//	Assess   a patient's lines into results, rows, and what became of each line
//	Summary  the patients into lists, curves and times
//
// Run does this on one machine. Pipe does the first and the fourth step line by line, for a
// cluster that sorts by itself.
package population
