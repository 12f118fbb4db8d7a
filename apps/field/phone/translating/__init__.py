"""Python to JavaScript, a subject a module: names, expressions, calls, functions, statements."""
