#!/usr/bin/env node
// Lets plain Node run the TypeScript of src/ and hands over to main.ts. Nothing else lives here.
import { register } from 'tsx/esm/api'

register()
await import('./main.ts')
