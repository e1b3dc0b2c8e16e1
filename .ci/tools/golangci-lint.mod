module evenreach.example

go 1.26.0
