package org.carrybeat.phone

import android.content.Intent
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
    fun `the folder that others may look into holds what is handed over and nothing of before`() {
        val handed = File(folder.root, "handed")
        val first = folder.newFile("first.pdf").apply { writeText("one") }
        val others = listOf("two", "three").map { name -> folder.newFile("$name.csv").apply { writeText(name) } }
        Share.copy(listOf(first), handed)
        val copies = Share.copy(others, handed)
        assertEquals(listOf("three.csv", "two.csv"), handed.list()?.sorted())
        assertEquals("in their order", listOf("two", "three"), copies.map { it.readText() })
        assertEquals("the record stays", "one", first.readText())
    }

    @Test
    fun `a file that is not there is said, and so is a second one of the same name`() {
        val handed = File(folder.root, "handed")
        val there = folder.newFile("there.csv")
        assertThrows(IOException::class.java) { Share.copy(listOf(there, File(folder.root, "none.pdf")), handed) }
        val other = File(folder.newFolder("other"), "there.csv").apply { writeText("another") }
        assertThrows(IOException::class.java) { Share.copy(listOf(there, other), handed) }
    }

    @Test
    fun `several files are offered to apps that take several, as what they have in common`() {
        assertEquals(Intent.ACTION_SEND, Share.action(1))
        assertEquals(Intent.ACTION_SEND_MULTIPLE, Share.action(2))
        assertEquals("text/csv", Share.kind(listOf("a.csv", "b.csv")))
        assertEquals("text/*", Share.kind(listOf("a.csv", "b.txt")))
        assertEquals("*/*", Share.kind(listOf("a.csv", "b.pdf")))
    }

    @Test
    fun `kinds by their ending`() {
        assertEquals("application/pdf", Share.kind("run.PDF"))
        assertEquals("application/json", Share.kind("run.rec.jsonl"))
        assertEquals("application/octet-stream", Share.kind("run"))
    }
}
