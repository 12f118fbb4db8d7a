"""The ground floor: numbers from numbers, in plain Python with no framework, clock or I/O."""
