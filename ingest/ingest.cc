// replaced by the modules of this folder
