"""The firm, its staff, tokens, client links, idempotency keys and the audit."""
