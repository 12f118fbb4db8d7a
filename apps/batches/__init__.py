"""What lives in a system: fish batches, plantings; treatments and the holds they put."""
