//! The judgement: evenings with a verdict written by hand, and every voice against the others.

mod agreement;
mod night;
mod nights;
mod said;
mod situation;
mod situations;
mod world;
