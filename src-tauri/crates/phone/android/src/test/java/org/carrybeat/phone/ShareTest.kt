package org.carrybeat.phone

import org.junit.Assert.assertEquals
import org.junit.Assert.assertThrows
import org.junit.Rule
import org.junit.Test
import org.junit.rules.TemporaryFolder
import java.io.File
import java.io.IOException

class ShareTest {
    @get:Rule
    val folder = TemporaryFolder()

    @Test
    fun `the folder that others may look into holds the one file only`() {
        val handed = File(folder.root, "handed")
        val first = folder.newFile("first.pdf").apply { writeText("one") }
        val second = folder.newFile("second.csv").apply { writeText("two") }
        Share.copy(first, handed)
        val copy = Share.copy(second, handed)
        assertEquals(listOf("second.csv"), handed.list()?.toList())
        assertEquals("two", copy.readText())
        assertEquals("the record stays", "one", first.readText())
    }

    @Test
    fun `a file that is not there is said`() {
        assertThrows(IOException::class.java) { Share.copy(File(folder.root, "none.pdf"), File(folder.root, "handed")) }
    }

    @Test
    fun `kinds by their ending`() {
        assertEquals("application/pdf", Share.kind("run.PDF"))
        assertEquals("application/json", Share.kind("run.rec.jsonl"))
        assertEquals("application/octet-stream", Share.kind("run"))
    }
}
