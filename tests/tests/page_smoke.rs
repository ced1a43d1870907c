//! The page opens in both engines.
