module evenreach.example/ci/mutants

go 1.26.0
