//! Shared by the tests: reading committed tables.
