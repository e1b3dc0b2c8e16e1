package course

import _ "evenreach.example/internal/propertytest" // a fixed seed in CI
