//! The command: parses arguments, calls the library, prints the error, sets the exit code.
fn main() {}
