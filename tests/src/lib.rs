//! Shared helpers of the reference checks and acceptance tests.
