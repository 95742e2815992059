"""Tables of woods and wires, a source per number."""
