"""One file of a logger or meter to rows: text, columns, numbers, order; what an undeclared file probably is."""
