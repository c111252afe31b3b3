def coarsen(*a): raise NotImplementedError
