"""How good diagnosis is, on boards that ngspice solved with other device models than the kit's."""
