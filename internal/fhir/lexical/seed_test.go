package lexical_test

import _ "evenreach.example/internal/propertytest" // a fixed seed in CI
