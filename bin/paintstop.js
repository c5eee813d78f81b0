#!/usr/bin/env node
import { main } from '../dist/cli/main.js';

// An output that could not be written in the meantime has set a status of its own.
const status = await main(process.argv.slice(2));
process.exitCode ||= status;
