"""One module a story: where several apps' services make one step of the job."""
