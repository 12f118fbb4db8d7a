"""The reference: measurands, bands, tasks, rules, signs, species, crops, sources."""
