//! What a person gets and keeps: the command line, the written pages, job files, tickets, and the archive of past jobs.

#[path = "../data/archive_jobs.rs"]
mod archive_jobs;
#[path = "../data/pdf_norm.rs"]
mod pdf_norm;
#[path = "../data/shell.rs"]
mod shell;

mod archive;
mod archive_audit;
mod archive_v1;
mod command_line;
mod demonstration;
mod job_file;
mod own_trees;
mod own_wirings;
mod pages;
mod past;
mod ticket;
mod ticket_pdf;
mod ticket_whole;
