"""The next system: from a wish and a site to sizes, each with its rule, its range and its doubts."""
