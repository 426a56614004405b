//! pipeline
