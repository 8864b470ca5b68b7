//! The program as a person runs it: the real binary, its files, its terminal, its exit status.

mod board;
mod commands;
mod common;
mod forecast;
mod readme;
mod sensors;
