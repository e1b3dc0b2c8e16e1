package main

import (
	"testing"

	"evenreach.example/internal/program/programtest"
)

func TestMain(m *testing.M) { programtest.Main(m, "evenreach-population", main) }

// The command line as its users see it: one script a topic.
func TestScripts(t *testing.T) { programtest.Scripts(t, nil) }

func TestCommandIsExplained(t *testing.T) { programtest.Explained(t, evenreachPopulation) }
