"""The lesson file: schema, reader, writer, and the plan built from it."""
