//! One test binary; a line of purpose per suite.

// The invented survey: committed files, design and truth.
mod invented;
