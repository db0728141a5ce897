"""The simulated unit as a device: a source of samples in simulated time, and one that sends bytes on a port."""
