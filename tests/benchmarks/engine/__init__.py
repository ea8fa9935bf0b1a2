"""How fast and how right the engine is, beside ngspice and dense algebra in the same run."""
